from collections.abc import Iterable
from datetime import date

from django.db.models import Count, OuterRef, Q, QuerySet, Subquery

from athletes.models import Athlete, Effort, Override

SHOWN = ("active", "inactive", "untested")


def athletes_found(*, shown: str = "active", query: str = "") -> QuerySet[Athlete]:
    """Athletes for the list, with `efforts_kept` and the id of the newest effort as `last_effort_id`.

    `shown`: active, inactive, or untested (active and without a single effort).
    """
    standing = Q(efforts__voided_at__isnull=True, efforts__isnull=False)
    newest = Effort.objects.standing().filter(athlete=OuterRef("pk")).order_by("-performed_on", "-pk")
    found = Athlete.objects.filter(active=shown != "inactive")
    for word in query.split():
        found = found.filter(Q(name__icontains=word) | Q(board_name__icontains=word))
    found = found.annotate(
        efforts_kept=Count("efforts", filter=standing), last_effort_id=Subquery(newest.values("pk")[:1])
    )
    # Said again because counting drops the order that the model asks for.
    found = found.order_by("name", "pk")
    return found.filter(efforts_kept=0) if shown == "untested" else found


def with_last_effort(athletes: list[Athlete]) -> list[Athlete]:
    """Put the newest effort beside each athlete of `athletes_found`, in one query."""
    ids = [athlete.last_effort_id for athlete in athletes if athlete.last_effort_id]
    efforts = Effort.objects.select_related("benchmark").in_bulk(ids)
    for athlete in athletes:
        athlete.last_effort = efforts.get(athlete.last_effort_id)
    return athletes


def untested_count() -> int:
    return athletes_found(shown="untested").count()


def overrides_on(athlete_ids: Iterable[int], day: date) -> dict[int, list[Override]]:
    """The overrides that hold on a day by athlete, each with its movement and who made it; one query.

    Athletes without one are left out.
    """
    holding = Override.objects.filter(athlete__in=list(athlete_ids), starts_on__lte=day, ends_on__gte=day)
    by_athlete: dict[int, list[Override]] = {}
    for override in holding.select_related("movement", "made_by"):
        by_athlete.setdefault(override.athlete_id, []).append(override)
    return by_athlete
