"""What is not known yet about whom, and the shortest test day that would say most of it."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from uuid import UUID

from athletes.models import Account, Athlete, Benchmark, Gym, Machine, TestDay
from athletes.trials.read import machines_on_floor
from athletes.trials.write import test_day_minutes, test_day_plan
from sessions.first_hour.steps import sessions_ahead
from sessions.models import Week
from sessions.publishing.draft import draft_side
from sessions.retests.propose import retest_list
from sessions.targets.detail import Detail

MOST_TESTS = 3  # an evening's worth: each is done all out (common practice)
MOST_TIMED = 120  # tests for which heats are planned only to say how long they take
REST_S, CHANGE_OVER_S, OPEN_PLACES = 900, 120, 6  # as the form of a test day begins


@dataclass(frozen=True)
class Known:
    """An athlete, and how many of the week's doses rest on something shown, on a guess, or are with the coach."""

    athlete: Athlete
    shown: int
    guessed: int
    with_coach: int

    @property
    def words(self) -> str:
        if self.with_coach:
            return "set with the coach"
        if not self.guessed:
            return "all rest on results"
        return "by feel at first" if not self.shown else f"{self.shown} of {self.shown + self.guessed} rest on results"


@dataclass(frozen=True)
class TestDayOffer:
    """The tests, whom they are for, how long they take [min], and which share of what is open they settle."""

    benchmarks: list[Benchmark]
    tests: list[tuple[int, int]]
    people: int
    minutes: int
    share: float
    waiting: list[Athlete]

    @property
    def share_words(self) -> str:
        """The share in words, never more than it is."""
        named = [(0.95, "nearly all"), (0.75, "three quarters"), (0.66, "two thirds"), (0.5, "half"), (0.33, "a third")]
        return next((words for least, words in named if self.share >= least), "some")


def known_of(weeks: list[Week], gym: Gym) -> list[Known]:
    """Everyone who gets targets in these weeks, as they would be published now. Raises CannotScale."""
    counts: dict[int, list[int]] = defaultdict(lambda: [0, 0, 0])
    for week in weeks:
        for day in draft_side(week, gym, None).days:
            for (athlete, _), shown in day.targets.items():
                counts[athlete][_kind(shown.rung, shown.detail)] += shown.rung >= 0 or shown.detail.with_coach
    athletes = Athlete.objects.in_bulk(counts.keys())
    rows = sorted(counts.items(), key=lambda item: athletes[item[0]].name.casefold())
    return [Known(athletes[pk], *found) for pk, found in rows]


def _kind(rung: int, detail: Detail) -> int:
    return 2 if detail.with_coach else 1 if detail.untested and rung >= 0 else 0


def weeks_ahead(day: date) -> list[Week]:
    """The weeks with a session that is still to come."""
    return list(Week.objects.filter(sessions__in=sessions_ahead(day)).distinct().order_by("starts_on"))


def shortest_test_day(gym: Gym, day: date) -> TestDayOffer | None:
    """The few tests that say most about the coming doses, for everyone for whom they do; None where none does."""
    found = retest_list(gym, day)
    machines = list(machines_on_floor())
    floor = {machine.type_id for machine in machines}
    by_benchmark: dict[int, list] = defaultdict(list)
    for line in found.lines:
        needs = line.benchmark.movement.machine_type_id
        if needs is None or needs in floor:
            by_benchmark[line.benchmark.pk].append(line)
    ranked = sorted(by_benchmark.values(), key=lambda lines: -sum(line.gain for line in lines))
    chosen = ranked[:MOST_TESTS]
    if not chosen:
        return None
    tests = [(line.athlete.pk, line.benchmark.pk) for lines in chosen for line in lines]
    gained = sum(line.gain for lines in chosen for line in lines)
    return TestDayOffer(
        benchmarks=[lines[0].benchmark for lines in chosen],
        tests=tests,
        people=len({athlete for athlete, _ in tests}),
        minutes=_minutes(tests, day, machines) if len(tests) <= MOST_TIMED else 0,
        share=gained / sum(line.gain for line in found.lines),
        waiting=found.waiting,
    )


def _minutes(tests: list[tuple[int, int]], day: date, machines: list[Machine]) -> int:
    return test_day_minutes(
        date=day, rest_s=REST_S, change_over_s=CHANGE_OVER_S, tests=tests, machines=machines, open_places=OPEN_PLACES
    )


def shortest_test_day_plan(
    *, offer: TestDayOffer, on: date, at: time, by: Account, key: UUID
) -> tuple[TestDay, list[str]]:
    """Plan it, and whom a limitation keeps from which test."""
    return test_day_plan(
        key=key,
        date=on,
        starts_at=at,
        rest_s=REST_S,
        change_over_s=CHANGE_OVER_S,
        tests=offer.tests,
        machines=machines_on_floor(),
        open_places=OPEN_PLACES,
        by=by,
    )


def free_day(day: date) -> date:
    """The first day from tomorrow on without a session, no Sunday, so that nobody tests and trains on one day."""
    busy = {session.date for session in sessions_ahead(day).select_related("week")}
    ahead = (day + timedelta(days=n) for n in range(1, 15))
    return next((d for d in ahead if d not in busy and d.weekday() != 6), day + timedelta(days=1))


def evening(gym: Gym) -> time:
    """When a test day begins: at the last usual class time."""
    times = sorted(gym.class_times)
    return datetime.strptime(times[-1], "%H:%M").time() if times else time(18, 0)
