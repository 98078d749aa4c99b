"""Test days as pages show them: heats in the order of their start, and each athlete's own times."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from math import ceil

from django.db.models import Count, QuerySet

from athletes.models import Athlete, Benchmark, Machine, TestDay, TestSlot
from athletes.words import name_order


@dataclass
class HeatLines:
    """A heat: its lanes, each a slot with athlete and machine loaded. Number 0: tests without a heat."""

    number: int
    benchmark: Benchmark
    starts_at: datetime | None
    lanes: list[TestSlot] = field(default_factory=list)


def test_days_found() -> QuerySet[TestDay]:
    """All test days, the newest first, with `tests` and `tested`, how many tests and athletes are planned."""
    return TestDay.objects.annotate(
        tests=Count("slots", distinct=True), tested=Count("slots__athlete", distinct=True)
    ).order_by("-date", "-pk")


def slots_of(test_day: TestDay) -> list[TestSlot]:
    """All tests of a day with athlete, benchmark, machine and its `machine_short`, heat by heat in the order of the
    machines, and last what has no heat; one query."""
    rows = list(test_day.slots.select_related("athlete", "benchmark__movement__machine_type", "machine__type"))
    short = short_names(slot.machine for slot in rows if slot.machine)
    for slot in rows:
        slot.machine_short = short.get(slot.machine_id, "")
    return sorted(rows, key=_turn)


def _turn(slot: TestSlot) -> tuple:
    return slot.heat == 0, slot.heat, slot.machine.number if slot.machine else 0, slot.pk


def short_names(machines: Iterable[Machine]) -> dict[int, str]:
    """What machines (by id) are called where room is scarce: "row 2", and in full where two types have one engine."""
    machines = list(machines)
    types = {machine.type_id: machine.type for machine in machines}
    engines = Counter(kind.engine for kind in types.values() if kind.engine)
    return {m.pk: f"{m.type.engine} {m.number}" if engines[m.type.engine] == 1 else str(m) for m in machines}


def heats_of(slots: Iterable[TestSlot]) -> list[HeatLines]:
    """The heats in the order of their start; tests without a heat come last, by benchmark."""
    found: dict[tuple, HeatLines] = {}
    for slot in slots:
        key = (slot.heat, slot.benchmark_id)
        found.setdefault(key, HeatLines(slot.heat, slot.benchmark, slot.starts_at)).lanes.append(slot)
    return sorted(found.values(), key=lambda heat: (heat.number == 0, heat.number, heat.benchmark.name))


def by_athlete(slots: Iterable[TestSlot]) -> list[tuple[Athlete, list[TestSlot]]]:
    """Each athlete with their tests in the order of their start, by name."""
    own: dict[int, tuple[Athlete, list[TestSlot]]] = {}
    for slot in slots:
        own.setdefault(slot.athlete_id, (slot.athlete, []))[1].append(slot)
    for _, tests in own.values():
        tests.sort(key=lambda slot: (slot.heat == 0, slot.starts_at or datetime.min, slot.pk))
    return sorted(own.values(), key=lambda found: (name_order(found[0].name), found[0].pk))


def elsewhere_that_day(test_day: TestDay) -> list[Athlete]:
    """Who of a day's list has heats in another plan of that date too; one query."""
    own = test_day.slots.values("athlete")
    others = TestSlot.objects.filter(test_day__date=test_day.date, heat__gt=0, athlete__in=own)
    found = others.exclude(test_day=test_day).values("athlete")
    return by_name(Athlete.objects.filter(pk__in=found))


def lasts_min(slots: Iterable[TestSlot]) -> int | None:
    """Minutes from the first start to the last expected end; None without heats."""
    timed = [slot for slot in slots if slot.starts_at]
    if not timed:
        return None
    last = max(slot.starts_at.timestamp() + (slot.expected_s or 0.0) for slot in timed)
    return ceil((last - min(slot.starts_at.timestamp() for slot in timed)) / 60.0)


def by_name(athletes: Iterable[Athlete]) -> list[Athlete]:
    """Athletes in the order in which people look for them."""
    return sorted(athletes, key=lambda athlete: (name_order(athlete.name), athlete.pk))


def machines_on_floor() -> QuerySet[Machine]:
    return Machine.objects.filter(active=True).select_related("type").order_by("type__name", "number")
