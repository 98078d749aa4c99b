"""Two test days: one that is over, with its results, and the next, planned from the retest list."""

from collections.abc import Iterable
from datetime import date, time, timedelta

from athletes.models import Account, Effort, Gym, Machine, TestDay
from athletes.trials.write import test_day_plan
from coachhub.demo.keys import demo_key
from coachhub.demo.schedule import TEST_WEEKS
from sessions.retests.propose import retest_list
from sessions.weeks.read import monday_of

STARTS_AT = time(9, 0)
REST_S, CHANGE_OVER_S, OPEN_PLACES = 1200, 120, 4
NEXT = 5  # the Saturday of the week of seeding, or of the week after where that is over
TESTS = 24


def test_days_create(by: Account, as_of: date) -> None:
    """Plan both; the results of the day that is over are kept already. Needs efforts, estimates and planned weeks."""
    over = monday_of(as_of) - timedelta(weeks=TEST_WEEKS[-1])
    done = Effort.objects.standing().filter(performed_on=over)
    _plan(over, done.values_list("athlete_id", "benchmark_id"), by)
    coming = monday_of(as_of) + timedelta(days=NEXT)
    lines = retest_list(Gym.objects.get(), as_of).lines[:TESTS]
    tests = [(line.athlete.pk, line.benchmark.pk) for line in lines]
    _plan(coming if coming > as_of else coming + timedelta(days=7), tests, by)


def _plan(day: date, tests: Iterable[tuple[int, int]], by: Account) -> TestDay:
    made, _ = test_day_plan(
        key=demo_key("test day", day),
        date=day,
        starts_at=STARTS_AT,
        rest_s=REST_S,
        change_over_s=CHANGE_OVER_S,
        tests=tests,
        machines=Machine.objects.filter(active=True).order_by("pk"),
        open_places=OPEN_PLACES,
        by=by,
    )
    return made
