"""What a coach says of who is used to much of a movement that makes sore, where no record tells."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db import transaction
from django.db.models import QuerySet

from athletes.models import Account, Accustomed, Movement
from sessions.circuits.definition import Definition


@dataclass(frozen=True)
class Answer:
    """How many were said to be used to a movement, and how many not."""

    movement: Movement
    yes: int
    no: int


def accustomed_say(*, movement: Movement, asked: Iterable[int], used: Iterable[int], by: Account | None) -> None:
    """Keep for everyone of `asked` (ids of athletes) whether they are `used` to a movement.

    The same answer again leaves who gave it, and when, as it stands.
    """
    used = set(used)
    with transaction.atomic():
        kept = dict(said_of(movement).values_list("athlete_id", "accustomed"))
        rows = [
            Accustomed(athlete_id=athlete, movement=movement, accustomed=athlete in used, said_by=by)
            for athlete in sorted(set(asked))
            if kept.get(athlete) != (athlete in used)
        ]
        Accustomed.objects.bulk_create(
            rows,
            update_conflicts=True,
            unique_fields=["athlete", "movement"],
            update_fields=["accustomed", "said_by", "said_at"],
        )


def accustomed_take_back(*, movement: Movement, athletes: Iterable[int]) -> None:
    """Ask again about these athletes (ids). Twice changes nothing."""
    Accustomed.objects.filter(movement=movement, athlete_id__in=list(athletes)).delete()


def said_of(movement: Movement) -> QuerySet[Accustomed]:
    """What was said of a movement, by name."""
    return (
        Accustomed.objects.filter(movement=movement)
        .select_related("athlete", "said_by")
        .order_by("athlete__name", "athlete_id")
    )


def sore_movements(definition: Definition) -> set[int]:
    """Ids of the movements of a circuit that make sore."""
    return {option.movement.id for option in definition.options if option.movement.high_eccentric}


def answers_about(movements: Sequence[int] | set[int]) -> list[Answer]:
    """What was said of active athletes and these movements (ids). One query, none where there are no movements."""
    if not movements:
        return []
    said = Accustomed.objects.filter(movement_id__in=movements, athlete__active=True).select_related("movement")
    by_movement: dict[Movement, list[bool]] = {}
    for one in said.order_by("movement__name"):
        by_movement.setdefault(one.movement, []).append(one.accustomed)
    return [Answer(movement, sum(used), len(used) - sum(used)) for movement, used in by_movement.items()]
