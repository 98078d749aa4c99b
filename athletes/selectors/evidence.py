"""What logged sessions say, as observations beside the benchmark efforts."""

from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta

from athletes.capacity.logged import AGE_LIMIT_DAYS
from athletes.models import Evidence
from athletes.selectors.observations import Observation

# Newest logs per athlete and engine or movement: their errors go together, so more of them say hardly more.
MOST_LOGS = 24


def logged_observations(athlete_ids: list[int], as_of: date) -> Iterator[Observation]:
    """Observations from the logs of these athletes up to `as_of`, newest first; one query."""
    since = as_of - timedelta(days=AGE_LIMIT_DAYS)
    rows = Evidence.objects.filter(athlete_id__in=athlete_ids, performed_on__range=(since, as_of))
    columns = ("athlete_id", "engine", "movement_id", "value", "duration_s", "performed_on", "sd_log")
    taken = Counter()
    for row in rows.order_by("-performed_on", "-pk").values_list(*columns, named=True).iterator(chunk_size=5000):
        subject = (row.athlete_id, row.engine or row.movement_id)
        taken[subject] += 1
        if taken[subject] <= MOST_LOGS:
            yield Observation(effort_id=None, **row._asdict())
