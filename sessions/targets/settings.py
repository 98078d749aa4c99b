"""How each athlete sets each machine on a day: the lever for the drag that suits, in that day's air. Advice only."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache

import numpy as np
from django.db.models import Exists, OuterRef

from athletes.capacity.drag import lever_for, to_step
from athletes.capacity.profile import MIDDLE_DRAG, gym_median, target_drag
from athletes.equipment.levers import Readings, readings_by_machine
from athletes.equipment.read import density_for
from athletes.estimates.people import People
from athletes.models import Effort, Estimate
from athletes.words import number
from sessions.circuits.definition import Definition, Machine, Option


@dataclass(frozen=True, eq=False)
class Settings:
    """Air density [kg/m³], lever readings by machine type (id), and by engine the gym's median athlete."""

    density: float = 0.0
    readings: dict[int, list[Readings]] = field(default_factory=dict)
    medians: dict[str, np.ndarray] = field(default_factory=dict)

    def advice(self, option: Option, people: People) -> list[str] | None:
        """A line for each athlete at an option of a circuit; None where its machine has no lever or no readings."""
        engine, machine = option.movement.engine, option.movement.machine
        if machine is None or not machine.lever_most or engine not in self.medians:
            return None
        readings = self._readings(machine)
        if not readings:
            return None
        drag = target_drag(people.engine_mean[engine], people.facts.body_mass, self.medians[engine], engine)
        levers = [self._levers(drag, own, machine.lever_most) for own in readings]
        numbers = [own.number for own in readings]
        return [
            _line(machine.name, round(float(aim)), tuple(zip(numbers, own, strict=True)))
            for aim, *own in zip(drag, *levers, strict=True)
        ]

    def _readings(self, machine: Machine) -> list[Readings]:
        """Those of its machines that have any."""
        return [own for own in self.readings.get(machine.id, ()) if own.levers]

    def _levers(self, drag: np.ndarray, own: Readings, lever_most: float) -> list[float]:
        found = lever_for(drag, own.levers, own.drags, own.densities, self.density, own.ages)
        assert found is not None, "only machines with readings are asked"
        levers, _ = found  # outside the readings the outermost lever that was read is still the best that is known
        return np.minimum(to_step(levers), lever_most).tolist()


NO_SETTINGS = Settings()


def load_settings(definitions: list[Definition], day: date) -> Settings:
    """What these circuits need to set machines on a day. Three queries, one when no machine has a lever."""
    movements = [o.movement for definition in definitions for station in definition.stations for o in station.options]
    with_lever = [(m.machine, m.engine) for m in movements if m.engine in MIDDLE_DRAG and m.machine]
    machines = {machine.id: engine for machine, engine in with_lever if machine.lever_most}
    if not machines:
        return NO_SETTINGS
    density, _ = density_for(day)
    return Settings(density, readings_by_machine(set(machines), day), _medians(set(machines.values())))


def _medians(engines: set[str]) -> dict[str, np.ndarray]:
    """The gym's median athlete on each engine, of those with efforts of their own there."""
    own = Effort.objects.standing().filter(
        athlete_id=OuterRef("athlete_id"), benchmark__movement__engine=OuterRef("engine")
    )
    estimates = Estimate.objects.filter(Exists(own), engine__in=engines, athlete__active=True)
    found = defaultdict(list)
    for engine, mean, mass in estimates.values_list("engine", "mean", "athlete__body_mass_kg"):
        found[engine].append((mean, np.nan if mass is None else mass))
    medians = {}
    for engine in engines:
        means = np.array([mean for mean, _ in found[engine]], float).reshape(-1, 3)
        medians[engine] = gym_median(means, np.array([mass for _, mass in found[engine]], float), engine)
    return medians


@lru_cache(maxsize=10_000)  # athletes of like build set the same levers
def _line(machine: str, drag: int, levers: tuple[tuple[int, float], ...]) -> str:
    """Lever 5.5 on ski ergometer 2, 5 on 1 and 3 (drag factor about 118)."""
    by_lever = defaultdict(list)
    for number_on_it, lever in levers:
        by_lever[lever].append(str(number_on_it))
    parts: list[str] = []
    for lever, numbers in by_lever.items():
        *first, last = numbers
        names = f"{', '.join(first)} and {last}" if first else last
        parts.append(f"{number(lever)} on {names if parts else f'{machine} {names}'}")
    return f"Lever {', '.join(parts)} (drag factor about {drag})"
