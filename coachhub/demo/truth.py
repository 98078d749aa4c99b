"""What the invented athletes can really do. Only their efforts come of it; the app has to find it out from those."""

from dataclasses import dataclass

import numpy as np

from athletes.capacity.constants import ENGINES
from athletes.capacity.priors import REFERENCE_MASS_KG, engine_prior
from coachhub.demo.movements import MOVEMENTS
from coachhub.demo.people import PEOPLE, Person

SEED = 640

# Shares of a person's engine level that show in (critical power, W', ramp); speeds spread half as much as powers.
LEVEL_SHARE = {"row": (1.0, 0.6, 0.0), "ski": (1.0, 0.6, 0.0), "bike": (1.0, 0.6, 0.0), "run": (0.5, 0.4, 0.0)}
OWN_SD = {"row": (0.05, 0.14, 0.1), "ski": (0.06, 0.14, 0.1), "bike": (0.06, 0.14, 0.1), "run": (0.04, 0.14, 0.1)}
# Half the log difference between men and women, and the exponent of body mass, by kind of movement (common practice).
SEX_SHARE = {"loaded": 0.22, "repetitions": 0.16, "hold": 0.04}
MASS_SHARE = {"loaded": 0.55, "repetitions": -0.35, "hold": -0.3}
# How a person's strength shows in a movement of the usual spread.
STRENGTH_SHARE = {"loaded": 0.9, "repetitions": 1.6, "hold": 1.0}
USUAL_SPREAD = 0.5
GAIN_WEEKS = 45.0  # in which two thirds of what training will bring has come


@dataclass(frozen=True)
class Truth:
    """An athlete today: (log CP, log W', log k) by engine, log of the best by movement, and the gain of training."""

    engines: dict[str, np.ndarray]
    movements: dict[str, float]
    gain: float
    weeks: int

    def grown(self, weeks_ago: float) -> float:
        """Log of what was there some weeks ago over today; zero or less."""
        trained = max(self.weeks - weeks_ago, 0.0)
        return self.gain * (np.exp(-self.weeks / GAIN_WEEKS) - np.exp(-trained / GAIN_WEEKS))

    def engine(self, engine: str, weeks_ago: float, noise: float) -> np.ndarray:
        """The engine in a trial that went `noise` (in log power) better than usual."""
        step = self.grown(weeks_ago) * (0.5 if engine == "run" else 1.0) + noise
        return self.engines[engine] + np.array([step, step, 0.0])

    def movement(self, name: str, weeks_ago: float, noise: float) -> float:
        """The best in a movement that day; strength grows twice as much as the engine."""
        return float(np.exp(self.movements[name] + 2.0 * self.grown(weeks_ago) + noise))


def truths() -> dict[str, Truth]:
    """Everyone's, by name. Each athlete has random numbers of their own, so a change to one leaves the others."""
    return {person.name: _truth(person, np.random.default_rng([SEED, 0, row])) for row, person in enumerate(PEOPLE)}


def _truth(person: Person, rng: np.random.Generator) -> Truth:
    return Truth(
        engines={engine: _engine(person, engine, rng) for engine in ENGINES},
        movements={entry.name: _movement(person, entry, rng) for entry in MOVEMENTS if not entry.engine},
        gain=0.05 + 0.07 * rng.random(),
        weeks=person.weeks,
    )


def _engine(person: Person, engine: str, rng: np.random.Generator) -> np.ndarray:
    mass = np.nan if person.mass is None else person.mass
    centre, _ = engine_prior(engine, np.array([person.sex]), np.array([mass]))
    own = rng.normal(0.0, OWN_SD[engine])
    return centre[0] + person.engine * np.array(LEVEL_SHARE[engine]) + own


def _movement(person: Person, entry, rng: np.random.Generator) -> float:
    side = {"male": 1.0, "female": -1.0}.get(person.sex, 0.0)
    reference = REFERENCE_MASS_KG[person.sex]
    relative = np.log((person.mass or reference) / reference)
    body = side * SEX_SHARE[entry.kind] + relative * MASS_SHARE[entry.kind]
    level = person.strength * STRENGTH_SHARE[entry.kind] * entry.spread / USUAL_SPREAD
    return float(np.log(entry.best) + body + level + rng.normal(0.0, 0.4 * entry.spread))
