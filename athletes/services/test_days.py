"""A test day: who is tested on what, and in which heats."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from uuid import UUID

import numpy as np
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from athletes.capacity.constants import PATTERNS
from athletes.capacity.heats import Heat, Trial, order_of, plan_heats
from athletes.models import Account, Athlete, Benchmark, Machine, TestDay, TestSlot
from athletes.selectors.capacity import People, load_people
from athletes.selectors.expectations import expected, of_people
from athletes.selectors.gym import gym_zone
from athletes.services.once import insert_once, kept_before

CONTENT = ("date", "starts_at", "rest_s", "change_over_s")
SHORTEST_S, LONGEST_S = 20.0, 3600.0  # of a test, for the plan only
MOST_TESTS = 400


@dataclass(frozen=True)
class Floor:
    """The machines that are there, by type (id), and how many do at once what needs no machine."""

    machines: dict[int, list[Machine]]
    open_places: int

    def place(self, benchmark: Benchmark) -> tuple:
        """What a benchmark takes up: machines of a type, or room for its movement."""
        movement = benchmark.movement
        return ("machine", movement.machine_type_id) if movement.machine_type_id else ("open", movement.pk)

    def count(self, place: tuple) -> int:
        kind, which = place
        return len(self.machines.get(which, ())) if kind == "machine" else self.open_places


@transaction.atomic
def test_day_plan(
    *,
    key: UUID,
    date: date,
    starts_at: time,
    rest_s: int,
    change_over_s: int,
    tests: Iterable[tuple[int, int]],
    machines: Iterable[Machine],
    open_places: int,
    by: Account | None,
) -> tuple[TestDay, list[str]]:
    """Plan a day for tests, (athlete id, benchmark id) each, on the machines that are there.

    Returns the day, and whom a limitation keeps from which test: those are left out. The same again under the same
    `key` returns the day that is kept already. ValidationError where nothing is left to test, or nothing to test on.
    """
    day = TestDay(key=key, date=date, starts_at=starts_at, rest_s=rest_s, change_over_s=change_over_s, made_by=by)
    if kept := kept_before(day, CONTENT):
        return kept, []
    by_type = defaultdict(list)
    for machine in machines:
        by_type[machine.type_id].append(machine)
    floor = Floor(by_type, open_places)
    trials, left_out = _trials(set(tests), date, floor)
    if not trials:
        raise ValidationError("Nobody is left to test. Choose athletes and benchmarks." + _names(left_out))
    places = {trial.place: floor.count(trial.place) for trial in trials}
    heats = plan_heats(trials, places, rest_s, change_over_s)
    day = insert_once(day, CONTENT)
    TestSlot.objects.bulk_create(_slots(day, heats, trials, floor), ignore_conflicts=True)
    return day, left_out


@transaction.atomic
def test_day_add(*, test_day: TestDay, athlete: Athlete, benchmarks: Iterable[Benchmark]) -> None:
    """Someone who came unplanned: tests without a heat. Adding twice changes nothing."""
    slots = [TestSlot(test_day=test_day, athlete=athlete, benchmark=benchmark) for benchmark in benchmarks]
    TestSlot.objects.bulk_create(slots, ignore_conflicts=True)


def _trials(tests: set[tuple[int, int]], day: date, floor: Floor) -> tuple[list[Trial], list[str]]:
    """The trials to plan, and sentences about those that a limitation forbids."""
    if len(tests) > MOST_TESTS:
        raise ValidationError(f"{len(tests)} tests are too many for a day: at most {MOST_TESTS}. Take some out.")
    people = load_people([athlete for athlete, _ in tests])
    rows = {athlete.pk: row for row, athlete in enumerate(people.athletes)}
    wanted = Benchmark.objects.filter(pk__in={benchmark for _, benchmark in tests}, archived=False)
    trials, left_out = [], []
    for benchmark in wanted.select_related("movement__machine_type").order_by("pk"):
        _refuse_without_machine(benchmark, floor)
        seconds, may = _seconds(benchmark, people), _may(benchmark, people, day)
        for athlete in sorted(athlete for athlete, own in tests if own == benchmark.pk and athlete in rows):
            row = rows[athlete]
            if may[row]:
                rank = (order_of(benchmark.measure, seconds[row]), seconds[row], benchmark.pk)
                trials.append(Trial(athlete, benchmark.pk, floor.place(benchmark), seconds[row], rank))
            else:
                left_out.append(f"{people.athletes[row]} in {benchmark}")
    return trials, left_out


def _refuse_without_machine(benchmark: Benchmark, floor: Floor) -> None:
    if floor.count(floor.place(benchmark)) < 1:
        what = benchmark.movement.machine_type or "place"
        raise ValidationError(
            f"{benchmark} needs a {what}, and none is there. Tick one, add it under Gym, or leave the test out."
        )


def _seconds(benchmark: Benchmark, people: People) -> list[float]:
    """How long the test is expected to take each of them."""
    return np.clip(expected(benchmark, *of_people(benchmark, people)).seconds, SHORTEST_S, LONGEST_S).tolist()


def _may(benchmark: Benchmark, people: People, day: date) -> np.ndarray:
    weights = benchmark.movement.involvement
    return people.allowed(day, benchmark.movement_id, [float(weights.get(pattern, 0.0)) for pattern in PATTERNS])


def _slots(day: TestDay, heats: list[Heat], trials: list[Trial], floor: Floor) -> list[TestSlot]:
    begins = timezone.make_aware(datetime.combine(day.date, day.starts_at), gym_zone())
    seconds = {(trial.athlete, trial.benchmark): trial.seconds for trial in trials}
    had, slots = {}, []
    for number, heat in enumerate(heats, start=1):
        kind, which = heat.place
        machines = _assigned(heat.athletes, floor.machines[which], had) if kind == "machine" else {}
        for athlete in heat.athletes:
            slots.append(
                TestSlot(
                    test_day=day,
                    benchmark_id=heat.benchmark,
                    athlete_id=athlete,
                    machine=machines.get(athlete),
                    heat=number,
                    starts_at=begins + timedelta(seconds=heat.starts_s),
                    expected_s=round(seconds[athlete, heat.benchmark], 1),
                )
            )
    return slots


def _assigned(athletes: tuple, machines: list[Machine], had: dict) -> dict[int, Machine]:
    """A machine for each: the one they sat on before where it is free, for it is set for them."""
    free, found = list(machines), {}
    for athlete in sorted(athletes, key=lambda a: had.get(a) not in machines):
        before = had.get(athlete)
        found[athlete] = before if before in free else free[0]
        free.remove(found[athlete])
        had[athlete] = found[athlete]
    return found


def _names(left_out: list[str]) -> str:
    return f" A limitation keeps out: {', '.join(left_out)}." if left_out else ""
