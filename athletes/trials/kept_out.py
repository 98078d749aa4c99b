"""Who should not do a test of a day: by a caution, a limitation, or because another plan of that date has it."""

from collections import defaultdict
from datetime import date

import numpy as np

from athletes.capacity.constants import PATTERNS
from athletes.estimates.people import People, load_people
from athletes.models import Benchmark, TestDay, TestSlot
from athletes.trials.cautions import not_all_out

TWICE = "planned that day already"


def kept_out(test_day: TestDay) -> list[str]:
    """In words, who is on a day's list and should not do a test of it, as far as is known now.

    Whom a coach insisted on stays out of it: in all that a caution says, and who came unplanned in what a limitation
    says too. As many queries for many as for few.
    """
    tests, insisted, added = defaultdict(set), set(), set()
    for slot in test_day.slots.select_related("benchmark__movement").order_by("benchmark"):
        tests[slot.benchmark].add(slot.athlete_id)
        if slot.insisted:
            insisted.add(slot.athlete_id)
            added |= set() if slot.heat else {(slot.athlete_id, slot.benchmark_id)}
    people = load_people(set().union(*tests.values()))
    names = {athlete.pk: athlete for athlete in people.athletes}
    spared = {athlete.pk: "does not take part" for athlete in people.athletes if not athlete.active}
    spared |= {pk: why for pk, why in not_all_out(people.athletes, test_day.date).items() if pk not in insisted}
    planned = planned_on(test_day.date, leave_out=test_day)
    twice = [f"{names[pk]} in {b} ({TWICE})" for b, tested in tests.items() for pk in tested if (pk, b.pk) in planned]
    return [*twice, *(f"{names[pk]} ({why})" for pk, why in spared.items())] + [
        f"{athlete} in {benchmark} (a limitation)"
        for benchmark, tested in tests.items()
        for athlete, may in zip(people.athletes, may_do(benchmark, people, test_day.date), strict=True)
        if athlete.pk in tested and not may and athlete.pk not in spared and (athlete.pk, benchmark.pk) not in added
    ]


def planned_on(day: date, leave_out: TestDay | None = None) -> set[tuple[int, int]]:
    """Which tests, (athlete id, benchmark id), other plans of a date have already; one query."""
    others = TestSlot.objects.filter(test_day__date=day).exclude(test_day=leave_out)
    return set(others.values_list("athlete_id", "benchmark_id"))


def may_do(benchmark: Benchmark, people: People, day: date) -> np.ndarray:
    """Whom no limitation keeps from a benchmark on a day, (athletes,)."""
    weights = benchmark.movement.involvement
    return people.allowed(day, benchmark.movement_id, [float(weights.get(pattern, 0.0)) for pattern in PATTERNS])
