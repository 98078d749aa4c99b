"""What the invented athletes can really do. Only their efforts come of it; the app has to find it out from those."""

from dataclasses import dataclass

import numpy as np

from athletes.capacity.constants import ENGINES, PATTERNS
from athletes.capacity.movements import (
    CURVE_SCALE,
    PACED,
    PACED_LOG_SD,
    Movement,
    bests_mean,
    minute_rate,
    paced_prior,
)
from athletes.capacity.people import People
from athletes.capacity.priors import engine_prior
from athletes.movements.starter import StarterMovement
from coachhub.demo.movements import MOVEMENTS
from coachhub.demo.people import PEOPLE, Person

SEED = 640

# Shares of a person's engine level that show in (critical power, W', ramp); speeds spread half as much as powers.
LEVEL_SHARE = {"row": (1.0, 0.6, 0.0), "ski": (1.0, 0.6, 0.0), "bike": (1.0, 0.6, 0.0), "run": (0.5, 0.4, 0.0)}
OWN_SD = {"row": (0.05, 0.14, 0.1), "ski": (0.06, 0.14, 0.1), "bike": (0.06, 0.14, 0.1), "run": (0.04, 0.14, 0.1)}
# How far those who train here are above what is guessed of a stranger, in (critical power, W', ramp).
TRAINED = {"row": (0.18, 0.12, 0.0), "ski": (0.18, 0.12, 0.0), "bike": (0.20, 0.15, 0.0), "run": (0.06, 0.0, 0.0)}
# How a person's strength shows in a movement of the usual spread.
STRENGTH_SHARE = {"loaded": 0.9, "repetitions": 1.6, "hold": 1.0}
USUAL_SPREAD = 0.5
FIT_SHARE = 0.4  # and how the engine does, in repetitions and holds
OWN_SHARE, FAMILY_SHARE = 0.2, 0.2  # of a movement's spread: its own, and what all of its pattern share
# How engine and strength show in what is paced by breath, and what is a person's own there.
PACED_ENGINE, PACED_STRENGTH, PACED_OWN_SD = 0.5, 0.25, (0.09, 0.14, 0.1)
EASIER_BY = 0.10  # at least, in the log: an easier form is easier for everyone
GAIN_WEEKS = 45.0  # in which two thirds of what training will bring has come

Curve = np.ndarray  # (log CP, log W', log k) of an engine or a paced movement


@dataclass(frozen=True)
class Truth:
    """An athlete today: curves by engine and paced movement, log of the best by movement, and the gain of training."""

    curves: dict[str, Curve]
    movements: dict[str, float]
    gain: float
    weeks: int

    def grown(self, weeks_ago: float) -> float:
        """Log of what was there some weeks ago over today; zero or less."""
        trained = max(self.weeks - weeks_ago, 0.0)
        return self.gain * (np.exp(-self.weeks / GAIN_WEEKS) - np.exp(-trained / GAIN_WEEKS))

    def curve(self, name: str, weeks_ago: float, noise: float) -> Curve:
        """An engine or a paced movement in a trial that went `noise` (in log power) better than usual."""
        step = self.grown(weeks_ago) * (0.5 if name == "run" else 1.0) + noise
        return self.curves[name] + step * CURVE_SCALE

    def movement(self, name: str, weeks_ago: float, noise: float) -> float:
        """The best in a movement that day; strength grows twice as much as the engine."""
        return float(np.exp(self.movements[name] + 2.0 * self.grown(weeks_ago) + noise))


def truths() -> dict[str, Truth]:
    """Everyone's, by name. Each athlete has random numbers of their own, so a change to one leaves the others."""
    return {person.name: _truth(person, np.random.default_rng([SEED, 0, row])) for row, person in enumerate(PEOPLE)}


def _truth(person: Person, rng: np.random.Generator) -> Truth:
    # A person's levels are said with their age in them, so that age moves nothing once more.
    body = People.of(person.sex, np.nan if person.mass is None else person.mass)
    family = dict(zip(PATTERNS, rng.standard_normal(len(PATTERNS)), strict=True))
    curves = {engine: _engine(person, body, engine, rng) for engine in ENGINES}
    curves |= {entry.name: _paced(person, body, entry, rng) for entry in MOVEMENTS if entry.paced}
    plain = [entry for entry in MOVEMENTS if not (entry.engine or entry.paced)]
    movements = {entry.name: _movement(person, body, entry, family, rng) for entry in plain}
    for _ in plain:
        for entry in plain:
            if entry.easier in movements:
                least = movements[entry.name] + EASIER_BY
                movements[entry.easier] = max(movements[entry.easier], least)
    return Truth(curves, movements, gain=0.05 + 0.07 * rng.random(), weeks=person.weeks)


def _engine(person: Person, body: People, engine: str, rng: np.random.Generator) -> Curve:
    centre, _ = engine_prior(engine, body)
    own = rng.normal(0.0, OWN_SD[engine])
    return centre[0] + np.array(TRAINED[engine]) + person.engine * np.array(LEVEL_SHARE[engine]) + own


def _paced(person: Person, body: People, entry: StarterMovement, rng: np.random.Generator) -> Curve:
    movement = Movement(PACED, minute_rate(entry.best, entry.seconds), PACED_LOG_SD, _involvement(entry))
    centre, _ = paced_prior(movement, body)
    level = PACED_ENGINE * person.engine + PACED_STRENGTH * person.strength
    return centre[0] + level * CURVE_SCALE + rng.normal(0.0, PACED_OWN_SD)


def _movement(
    person: Person, body: People, entry: StarterMovement, family: dict[str, float], rng: np.random.Generator
) -> float:
    movement = Movement(entry.kind, entry.best, entry.spread, _involvement(entry))
    level = person.strength * STRENGTH_SHARE[entry.kind] + person.engine * (entry.kind != "loaded") * FIT_SHARE
    own = OWN_SHARE * rng.standard_normal() + FAMILY_SHARE * family[movement.pattern]
    return float(bests_mean([movement], body)[0, 0] + level * entry.spread / USUAL_SPREAD + entry.spread * own)


def _involvement(entry: StarterMovement) -> tuple[float, ...]:
    return tuple(entry.involvement.get(pattern, 0.0) for pattern in PATTERNS)
