from collections.abc import Callable, Iterable
from datetime import date

from django.db.models import Exists, Max, OuterRef

from athletes.models import Athlete, Effort, Override
from athletes.words import name_order

SHOWN = ("active", "inactive", "untested")
SORTED = ("name", "board", "last")


def names_having(query: str) -> Callable[[str, str], bool]:
    """Whether a name and a name on the board have all words of a query between them, in any order, without their
    accents and case."""
    words = name_order(query.replace(",", " ")).split()

    def has(name: str, board: str) -> bool:
        both = name_order(f"{name} {board}")
        return all(word in both for word in words)

    return has


def ids_found(query: str) -> list[int]:
    """Everyone here whose name has the words of a query; one query, whatever it is."""
    has = names_having(query)
    return [
        pk for pk, name, board in Athlete.objects.order_by().values_list("pk", "name", "board_name") if has(name, board)
    ]


def athletes_found(*, shown: str = "active", query: str = "", sort: str = "name", down: bool = False) -> list[int]:
    """Ids of athletes for the list, in order; two queries at most.

    `shown`: active, inactive, or untested (active and without a single effort). `sort`: by name, by name on the board,
    or by the day of the last benchmark, with those who have none at the end.
    """
    found = Athlete.objects.filter(active=shown != "inactive").order_by()
    if shown == "untested":
        found = found.filter(~Exists(Effort.objects.standing().filter(athlete=OuterRef("pk"))))
    has = names_having(query)
    rows = [row for row in found.values_list("pk", "name", "board_name") if has(*row[1:])]
    rows.sort(key=lambda row: (name_order(row[2 if sort == "board" else 1]), row[0]), reverse=down and sort != "last")
    if sort == "last":
        days = dict(Effort.objects.standing().order_by().values_list("athlete").annotate(Max("performed_on")))
        never = [row for row in rows if row[0] not in days]
        rows = sorted((row for row in rows if row[0] in days), key=lambda row: days[row[0]], reverse=not down) + never
    return [pk for pk, *_ in rows]


def with_last_effort(ids: Iterable[int]) -> list[Athlete]:
    """Athletes in the order of their ids, each with the newest effort beside it; two queries."""
    newest = {}
    efforts = Effort.objects.standing().filter(athlete__in=ids).select_related("benchmark")
    for effort in efforts.order_by("performed_on", "pk"):
        newest[effort.athlete_id] = effort
    here = Athlete.objects.in_bulk(ids)
    for pk, athlete in here.items():
        athlete.last_effort = newest.get(pk)
    return [here[pk] for pk in ids if pk in here]


def untested_count() -> int:
    tested = Effort.objects.standing().filter(athlete=OuterRef("pk"))
    return Athlete.objects.filter(~Exists(tested), active=True).count()


def overrides_on(athlete_ids: Iterable[int], day: date) -> dict[int, list[Override]]:
    """The overrides that hold on a day by athlete, each with its movement and who made it; one query.

    Athletes without one are left out.
    """
    holding = Override.objects.filter(athlete__in=list(athlete_ids), starts_on__lte=day, ends_on__gte=day)
    by_athlete: dict[int, list[Override]] = {}
    for override in holding.select_related("movement", "made_by"):
        by_athlete.setdefault(override.athlete_id, []).append(override)
    return by_athlete
