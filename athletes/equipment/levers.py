"""Levers and drag factors of the machines, in the air of a day."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from athletes.capacity.drag import Reach, lever_for, to_step
from athletes.models import LeverReading, Machine, MachineType
from athletes.words import number


class Readings(NamedTuple):
    """What one machine showed, in the order of its levers: drag factors, densities [kg/m³] and ages [days]."""

    number: int
    levers: list[float]
    drags: list[float]
    densities: list[float]
    ages: list[int]


def readings_by_machine(type_ids: Iterable[int], day: date) -> dict[int, list[Readings]]:
    """By type the active machines in the order of their numbers, those without a reading too; one query.

    Readings of after `day` are left out. The last four fields are what `capacity.drag.lever_for` takes.
    """
    machines = Machine.objects.filter(type__in=list(type_ids), active=True)
    rows = machines.order_by("type_id", "number", "readings__lever", "readings__taken_on", "readings__pk")
    columns = [f"readings__{name}" for name in ("lever", "drag", "density", "taken_on")]
    found: dict[int, dict[int, Readings]] = {}
    for type_id, machine, lever, drag, density, taken_on in rows.values_list("type_id", "number", *columns):
        readings = found.setdefault(type_id, {}).setdefault(machine, Readings(machine, [], [], [], []))
        if lever is not None and taken_on <= day:
            for values, value in zip(readings[1:], (lever, drag, density, (day - taken_on).days), strict=True):
                values.append(value)
    return {type_id: list(machines.values()) for type_id, machines in found.items()}


@dataclass(frozen=True)
class LeverLine:
    """The newest reading of a lever, and the drag factor that it gives in the air of the day."""

    reading: LeverReading
    drag_now: float


@dataclass(frozen=True)
class LeverCard:
    """One machine: a line for each lever that was read, all readings, and the lever for the drag factor asked for."""

    machine: Machine
    lines: list[LeverLine]
    readings: list[LeverReading]
    answer: str


def lever_cards(type: MachineType, density: float, day: date, target_drag: float | None = None) -> list[LeverCard]:
    """The machines of a type with their readings; the type comes with machines, readings and who took them loaded."""
    return [_card(machine, density, day, target_drag) for machine in type.machines.all()]


def _card(machine: Machine, density: float, day: date, target_drag: float | None) -> LeverCard:
    readings = list(machine.readings.all())  # by lever, the newest first
    newest = {reading.lever: reading for reading in reversed(readings)}
    lines = [LeverLine(reading, reading.drag * density / reading.density) for _, reading in sorted(newest.items())]
    return LeverCard(machine, lines, readings, _answer(readings, density, day, target_drag))


def _answer(readings: list[LeverReading], density: float, day: date, target_drag: float | None) -> str:
    if target_drag is None or not readings:
        return ""
    columns = zip(*((r.lever, r.drag, r.density, (day - r.taken_on).days) for r in readings), strict=True)
    levers, drags, densities, ages = columns
    lever, reach = lever_for(target_drag, levers, drags, densities, density, ages)
    return lever_words(float(lever), Reach(int(reach)))


def lever_words(lever: float, reach: Reach) -> str:
    """What to set, to the half lever; and when the readings do not say it, that they do not."""
    set_to = number(float(to_step(lever)))
    return {
        Reach.WITHIN: f"lever {set_to}",
        Reach.BELOW: f"lever {set_to}, and that gives more: no lower one was read",
        Reach.ABOVE: f"lever {set_to}, and that gives less: no higher one was read",
        Reach.ROUGH: f"about lever {set_to}: only one lever was read",
    }[reach]
