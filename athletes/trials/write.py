"""A test day: who is tested on what, and in which heats."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from math import ceil
from uuid import UUID

import numpy as np
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils import timezone

from athletes.capacity.heats import Heat, Trial, order_of, plan_heats
from athletes.efforts.expectations import expected, of_people
from athletes.estimates.people import People, load_people
from athletes.gym.read import gym_zone, today
from athletes.models import Account, Athlete, Benchmark, Machine, TestDay, TestSlot
from athletes.once import KEPT_ELSE, insert_once, kept_before
from athletes.trials.cautions import not_all_out
from athletes.trials.grid import entries_of, places_of
from athletes.trials.kept_out import TWICE, kept_out, may_do, planned_on

CONTENT = ("date", "starts_at", "rest_s", "change_over_s")
SHORTEST_S, LONGEST_S = 20.0, 3600.0  # of a test, for the plan only
MOST_TESTS = 400
LIST_CHANGED = "The list has changed meanwhile. Add them below instead, without a heat."
DAYS = (date(2000, 1, 1), date(2099, 12, 31))  # beyond them it is a slip


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
    insisted: Mapping[int, str] | None = None,  # noqa: PT028  # no test, whatever its name
) -> tuple[TestDay, list[str]]:
    """Plan a day for tests, (athlete id, benchmark id) each, on the machines that are there.

    Returns the day, and who is left out of what, and why: whom a limitation keeps from a test, and who must not go all
    out now unless a coach `insisted`, with a reason by athlete (id). The same again under the same `key` returns the
    day that is kept already. ValidationError where nothing is left to test, or nothing to test on, and where other
    tests were planned under this key.
    """
    tests, floor, insisted = set(tests), _floor(machines, open_places), insisted or {}
    day = TestDay(key=key, date=date, starts_at=starts_at, rest_s=rest_s, change_over_s=change_over_s, made_by=by)
    if kept := kept_before(day, CONTENT):
        return kept, _left_out_before(kept, tests, floor, insisted)
    _refuse_slip(date)
    trials, left_out = _trials(tests, date, floor, insisted)
    if not trials:
        raise ValidationError("Nobody is left to test. Choose athletes and benchmarks." + _names(left_out))
    heats = _heats(trials, floor, rest_s, change_over_s)
    if (kept := insert_once(day, CONTENT)) is not day:
        return kept, _left_out_before(kept, tests, floor, insisted)
    TestSlot.objects.bulk_create(_slots(day, heats, trials, floor, insisted))
    return day, left_out


def _left_out_before(
    kept: TestDay, tests: set[tuple[int, int]], floor: Floor, insisted: Mapping[int, str]
) -> list[str]:
    """Who was left out when these tests were planned as `kept`; ValidationError where others were."""
    planned = set(kept.slots.filter(heat__gt=0).values_list("athlete_id", "benchmark_id"))
    others, left_out = _trials(tests - set(places_of(kept)), kept.date, floor, insisted)
    if others or not planned <= tests:
        raise ValidationError(KEPT_ELSE)
    return left_out


def test_day_minutes(
    *,
    date: date,
    rest_s: int,
    change_over_s: int,
    tests: Iterable[tuple[int, int]],
    machines: Iterable[Machine],
    open_places: int,
) -> int:
    """How long such a day would be, to the last expected end [min]; 0 where nobody is left to test."""
    floor = _floor(machines, open_places)
    trials, _ = _trials(set(tests), date, floor, {})
    heats = _heats(trials, floor, rest_s, change_over_s) if trials else []
    return ceil(max((heat.starts_s + heat.seconds for heat in heats), default=0.0) / 60.0)


def _floor(machines: Iterable[Machine], open_places: int) -> Floor:
    by_type = defaultdict(list)
    for machine in dict.fromkeys(machines):  # named twice it is one
        by_type[machine.type_id].append(machine)
    return Floor(by_type, open_places)


def _heats(trials: list[Trial], floor: Floor, rest_s: int, change_over_s: int) -> list[Heat]:
    places = {trial.place: floor.count(trial.place) for trial in trials}
    return plan_heats(trials, places, rest_s, change_over_s)


@transaction.atomic
def test_day_add(
    *,
    test_day: TestDay,
    athlete: Athlete,
    benchmarks: Iterable[Benchmark],
    insisted: str = "",  # noqa: PT028  # no test, whatever its name
) -> list[str]:
    """Someone who came unplanned: tests without a heat. Adding twice changes nothing.

    Returns what a limitation keeps them from, and why they are left out of it. ValidationError where nothing is left,
    and for who must not go all out now. Neither holds for whom a coach `insisted` on, with a reason.
    """
    insisted, people = insisted.strip()[:200], load_people([athlete.pk])
    why = not_all_out([athlete], test_day.date).get(athlete.pk)
    if why and not insisted:
        raise ValidationError(f"{athlete} should not go all out now: {why}. A coach can add them with a reason.")
    slots, left_out, planned = [], [], planned_on(test_day.date, leave_out=test_day)
    for benchmark in benchmarks:
        if (athlete.pk, benchmark.pk) in planned:
            left_out.append(f"{athlete} in {benchmark} ({TWICE})")
            continue
        kept_from = not may_do(benchmark, people, test_day.date)[0]
        if kept_from and not insisted:
            left_out.append(f"{athlete} in {benchmark} (a limitation)")
        else:
            reason = insisted if why or kept_from else ""
            slots.append(TestSlot(test_day=test_day, athlete=athlete, benchmark=benchmark, insisted=reason))
    if not slots:
        raise ValidationError(f"Nobody is left to test.{_names(left_out)} A coach can add them with a reason.")
    TestSlot.objects.bulk_create(slots, ignore_conflicts=True)
    return left_out


@transaction.atomic
def test_day_take_off(*, test_day: TestDay, athlete: Athlete) -> list[TestSlot]:
    """Take an athlete off a day's list; the tests that were planned for them. What was entered stays, and with it a
    test that ended without a number. ValidationError for a day that is over."""
    if test_day.date < today():
        raise ValidationError("This day is over. Nobody is taken off its list any more.")
    planned = test_day.slots.filter(athlete=athlete, outcome="")
    slots = list(planned)
    planned.delete()
    return slots


@transaction.atomic
def test_day_put_back(*, test_day: TestDay, slots: Iterable[TestSlot]) -> None:
    """Put tests that were taken off back where they stood; without a heat where their machine is another's by now, or
    gone. ValidationError where the athlete is gone. Twice changes nothing."""
    taken = set(test_day.slots.filter(heat__gt=0).values_list("heat", "machine_id"))
    here = Athlete.objects.in_bulk({slot.athlete_id for slot in slots})
    machines = Machine.objects.in_bulk({slot.machine_id for slot in slots})
    for slot in slots:
        if slot.test_day_id != test_day.pk or slot.athlete_id not in here:
            raise ValidationError(LIST_CHANGED)
        if slot.machine_id and ((slot.heat, slot.machine_id) in taken or slot.machine_id not in machines):
            slot.heat, slot.machine_id, slot.starts_at, slot.expected_s = 0, None, None, None
    TestSlot.objects.bulk_create(slots, ignore_conflicts=True)


@transaction.atomic
def test_day_move(
    *, test_day: TestDay, seen: tuple[date, time], date: date, starts_at: time
) -> tuple[TestDay, list[str]]:
    """Move a day, and its heats with it, from where it was `seen` to another date and first start.

    Returns the day, and whom a limitation that holds then should keep from which test: they stay on the list, for a
    coach to decide. Moved there already, nothing changes. ValidationError, in words, where it cannot be moved.
    """
    test_day = TestDay.objects.select_for_update().get(pk=test_day.pk)
    begins, goal = (test_day.date, test_day.starts_at), (date, starts_at)
    if begins != goal:
        _refuse_move(test_day, seen, date)
        test_day.date, test_day.starts_at = goal
        test_day.save(update_fields=["date", "starts_at"])
        later = _instant(*goal) - _instant(*begins)
        test_day.slots.filter(starts_at__isnull=False).update(starts_at=F("starts_at") + later)
    return test_day, kept_out(test_day)


def _refuse_move(test_day: TestDay, seen: tuple[date, time], to: date) -> None:
    if test_day.date < today():
        raise ValidationError("This day is over. Plan a new one.")
    if (test_day.date, test_day.starts_at) != seen:
        raise ValidationError("Someone else moved this day meanwhile. Look at where it is now, and move it again.")
    if to < today():
        raise ValidationError("This date is over. Choose today or a later one.")
    _refuse_slip(to)
    if test_day.date != to and (entered := len(entries_of(test_day, places_of(test_day)))):
        results = "1 result is" if entered == 1 else f"{entered} results are"
        raise ValidationError(
            f"{results} entered on this day already, and would stay behind. Plan a new day for the tests that are left."
        )


def _refuse_slip(day: date) -> None:
    if not DAYS[0] <= day <= DAYS[1]:
        raise ValidationError(f"A test day lies between {DAYS[0].year} and {DAYS[1].year}. Check the year.")


def _trials(
    tests: set[tuple[int, int]], day: date, floor: Floor, insisted: Mapping[int, str]
) -> tuple[list[Trial], list[str]]:
    """The trials to plan, and words about those who are left out."""
    if len(tests) > MOST_TESTS:
        raise ValidationError(f"{len(tests)} tests are too many for a day: at most {MOST_TESTS}. Take some out.")
    people = load_people([athlete for athlete, _ in tests])
    planned = planned_on(day)
    rows = {athlete.pk: row for row, athlete in enumerate(people.athletes)}
    wanted = Benchmark.objects.filter(pk__in={benchmark for _, benchmark in tests}, archived=False)
    spared = {pk: why for pk, why in not_all_out(people.athletes, day).items() if pk not in insisted}
    trials, left_out = [], [f"{people.athletes[rows[pk]]} ({why})" for pk, why in spared.items()]
    for benchmark in wanted.select_related("movement__machine_type").order_by("pk"):
        _refuse_without_machine(benchmark, floor)
        seconds, may = _seconds(benchmark, people), may_do(benchmark, people, day)
        for athlete in sorted(
            athlete for athlete, own in tests if own == benchmark.pk and athlete in rows and athlete not in spared
        ):
            row = rows[athlete]
            if (athlete, benchmark.pk) in planned:
                left_out.append(f"{people.athletes[row]} in {benchmark} ({TWICE})")
            elif may[row]:
                rank = (order_of(benchmark.measure, seconds[row]), seconds[row], benchmark.pk)
                trials.append(Trial(athlete, benchmark.pk, floor.place(benchmark), seconds[row], rank))
            else:
                left_out.append(f"{people.athletes[row]} in {benchmark} (a limitation)")
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


def _slots(
    day: TestDay, heats: list[Heat], trials: list[Trial], floor: Floor, insisted: Mapping[int, str]
) -> list[TestSlot]:
    begins = _instant(day.date, day.starts_at)
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
                    insisted=insisted.get(athlete, ""),
                )
            )
    return slots


def _instant(day: date, at: time) -> datetime:
    """A time of day on the gym's own clock, in UTC: between two of one zone Python would count no summer time."""
    return timezone.make_aware(datetime.combine(day, at), gym_zone()).astimezone(UTC)


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
    return f" Left out: {', '.join(left_out)}." if left_out else ""
