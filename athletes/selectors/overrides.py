from collections.abc import Iterable
from datetime import date

from athletes.models import Override


def overrides_on(athlete_ids: Iterable[int], day: date) -> dict[int, list[Override]]:
    """The overrides that hold on a day by athlete, each with its movement and who made it; one query.

    Athletes without one are left out.
    """
    holding = Override.objects.filter(athlete__in=list(athlete_ids), starts_on__lte=day, ends_on__gte=day)
    by_athlete: dict[int, list[Override]] = {}
    for override in holding.select_related("movement", "made_by"):
        by_athlete.setdefault(override.athlete_id, []).append(override)
    return by_athlete
