from collections.abc import Iterable
from datetime import date, timedelta

from athletes.capacity.constants import RETEST_AFTER_DAYS
from athletes.models import Athlete, Benchmark, Effort

# By then an effort says so much less that the test is worth doing again.
RETEST_AFTER = timedelta(days=RETEST_AFTER_DAYS)


def latest_by_athlete(benchmark: Benchmark, athletes: Iterable[Athlete], by: date | None = None) -> dict[int, Effort]:
    """The newest standing effort of each athlete in a benchmark, or the newest `by` a day; one query."""
    efforts = Effort.objects.standing().filter(benchmark=benchmark, athlete__in=athletes)
    efforts = efforts.filter(performed_on__lte=by) if by else efforts
    efforts = efforts.select_related("benchmark__movement__machine_type")
    return {effort.athlete_id: effort for effort in efforts.order_by("performed_on", "pk")}
