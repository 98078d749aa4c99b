"""A gym of invented athletes whose capacities are known, what is known of them by tests and logs, and its circuits.

They differ from the method's model: each has fade constants, a coupling, a progress and a way of rating exertion of
their own. Arrays are (n, …) over athletes; θ are logs of capacities, as in `athletes.capacity`.
"""

from dataclasses import dataclass, replace

import numpy as np

from athletes.capacity.constants import ENGINES, POWER_TRIAL_SD, REPETITIONS_TRIAL_SD
from athletes.capacity.engines import Efforts, estimate_engines
from athletes.capacity.kinship import movement_correlation
from athletes.capacity.logged import logged_sd, shared_bias_sd
from athletes.capacity.observations import effort_sd
from athletes.capacity.power_duration import log_power
from athletes.capacity.priors import engines_prior
from athletes.capacity.repetitions import estimate_together
from sessions.scaling.circuit import Circuit, Option, Station
from sessions.scaling.constants import COUPLING, REPETITIONS_TAU_S, SLOW_SHARE
from sessions.scaling.engine import hold_power, hold_power_gradient
from sessions.scaling.room import Room

MEDIAN = {"pull_up": 8.0, "push_up": 22.0, "squat": 45.0}
SPREAD = {"pull_up": 0.55, "push_up": 0.50, "squat": 0.40}
PACE_S = {"pull_up": 2.5, "push_up": 1.5, "squat": 1.5}  # of one repetition
MOVEMENTS = tuple(MEDIAN)
SUBJECTS = ENGINES + MOVEMENTS
INVOLVEMENT = {
    "pull_up": (1.0, 0.0, 0.0, 0.0, 0.3, 0.8, 0.2),
    "push_up": (0.0, 1.0, 0.0, 0.0, 0.4, 0.0, 0.1),
    "squat": (0.0, 0.0, 0.4, 1.0, 0.3, 0.0, 0.3),
    "row": (0.7, 0.0, 0.7, 0.5, 0.4, 0.5, 0.8),
    "ski": (0.7, 0.2, 0.5, 0.2, 0.7, 0.4, 0.7),
    "bike": (0.2, 0.3, 0.1, 0.7, 0.2, 0.1, 0.8),
    "run": (0.0, 0.0, 0.2, 0.7, 0.2, 0.0, 0.8),
}
PRIOR = np.log([MEDIAN[name] for name in MOVEMENTS])
_SPREAD = np.array([SPREAD[name] for name in MOVEMENTS])
PRIOR_COV = movement_correlation([INVOLVEMENT[name] for name in MOVEMENTS]) * np.outer(_SPREAD, _SPREAD)

# What is tested: a subject, and for engines how long the effort takes.
TESTS = (("row", 480.0), ("row", 100.0), ("ski", 250.0), ("bike", 180.0), ("run", 1500.0), ("run", 270.0))
TESTS += tuple((name, np.nan) for name in MOVEMENTS)

# What errors are measured on: six sets of 42 s in every 3 minutes, of which others' stations fill some; no headroom.
PROGRAMMED = {"work_s": 42.0, "rotations": 6, "rotation_s": 180.0, "recovery_share": 0.3, "headroom": 0.0}


def circuit(rotations, interval, window, **doses):
    stations = []
    for name, dose in doses.items():
        if name in ENGINES:
            kind = "metres" if name == "run" else "kcal"
            option = Option(name, kind, dose, 1.0, 1.0, 3.0, INVOLVEMENT[name])
        else:
            option = Option(None, "repetitions", dose, 1.0, PACE_S[name], 2.0, INVOLVEMENT[name])
        stations.append(Station(window, (option,)))
    return Circuit(tuple(stations), rotations, interval), tuple(doses)


# With the names of their stations
CIRCUITS = (
    circuit(6, 60.0, 45.0, row=20.0, pull_up=10.0, bike=22.0, push_up=20.0),
    circuit(10, 60.0, 45.0, row=20.0),
    circuit(8, 60.0, 45.0, ski=18.0, push_up=18.0),
    circuit(5, 60.0, 50.0, run=220.0, squat=28.0, pull_up=8.0),
    circuit(6, 60.0, 45.0, bike=22.0, ski=18.0, squat=28.0),
    circuit(5, 120.0, 90.0, row=34.0, run=380.0),
    circuit(8, 60.0, 40.0, pull_up=10.0, push_up=20.0),
    circuit(8, 120.0, 60.0, bike=30.0),
    circuit(5, 60.0, 50.0, run=220.0, ski=18.0, push_up=18.0),
    circuit(7, 60.0, 45.0, squat=28.0, row=18.0),
)


@dataclass(frozen=True, eq=False)
class People:
    """n athletes as they are, and what is their own."""

    sex: np.ndarray
    mass: np.ndarray
    engines: np.ndarray  # θ, (n, 4, 3)
    movements: np.ndarray  # θ, (n, M)
    trend: np.ndarray  # what is added to every θ but the ramps' in a week
    engine_tau: np.ndarray  # times the model's, (n, 4)
    movement_tau_s: np.ndarray  # (n, M)
    slow_share: np.ndarray
    coupling: np.ndarray
    rpe_bias: np.ndarray  # points
    rpe_slope: np.ndarray  # times the model's

    def week_later(self):
        grown = self.trend[:, None]
        return replace(
            self, engines=self.engines + grown[..., None] * [1.0, 1.0, 0.0], movements=self.movements + grown
        )


def invent(rng, n):
    """n `People`, their capacities drawn from the priors."""
    sex = rng.choice(["male", "female", ""], n, p=[0.45, 0.45, 0.1])
    mass = np.where(rng.random(n) < 0.2, np.nan, 74.0 * np.exp(0.16 * rng.normal(size=n)))
    mean, covariance = engines_prior(sex, mass)
    engines = mean + (np.linalg.cholesky(covariance) @ rng.normal(size=(n, 12, 1)))[..., 0]
    return People(
        sex=sex,
        mass=mass,
        engines=engines.reshape(n, 4, 3),
        movements=PRIOR + rng.normal(size=(n, len(MOVEMENTS))) @ np.linalg.cholesky(PRIOR_COV).T,
        trend=rng.normal(0.003, 0.004, n),
        engine_tau=rng.lognormal(0.0, 0.3, (n, 4)),
        movement_tau_s=REPETITIONS_TAU_S * rng.lognormal(0.0, 0.4, (n, len(MOVEMENTS))),
        slow_share=SLOW_SHARE * rng.lognormal(0.0, 0.3, n),
        coupling=COUPLING * rng.lognormal(0.0, 0.4, n),
        rpe_bias=rng.normal(0.0, 1.0, n),
        rpe_slope=rng.lognormal(0.0, 0.2, n),
    )


class Book:
    """What is observed of n athletes: columns (value, duration, SD, day), each (n,), by subject."""

    def __init__(self, n):
        self.n = n
        self.efforts, self.logs = ({name: [] for name in SUBJECTS} for _ in range(2))

    def test(self, rng, people):
        """One to three noisy benchmarks of each athlete, made in the four months before."""
        taken = rng.random((self.n, len(TESTS))).argsort(1) < rng.integers(1, 4, self.n)[:, None]
        for (name, seconds), of in zip(TESTS, taken.T, strict=True):
            if name in ENGINES:
                best, sd = log_power(seconds, people.engines[:, ENGINES.index(name)]), POWER_TRIAL_SD
            else:
                best, sd = people.movements[:, MOVEMENTS.index(name)], REPETITIONS_TRIAL_SD
            value = np.where(of, np.exp(best + rng.normal(0.0, sd, self.n)), np.nan)
            self.efforts[name].append((value, seconds, sd, -rng.integers(0, 120, self.n)))

    def observed(self, name, day):
        """Values, durations and SDs (n, m) of a subject as of a day: efforts, then logs."""
        efforts, logs = (self._columns(book[name]) for book in (self.efforts, self.logs))
        efforts[2] = effort_sd(efforts[2], day - efforts[3])
        logs[2] = shared_bias_sd(logged_sd(logs[2], day - logs[3]))
        return [np.concatenate(both, 1) for both in zip(efforts[:3], logs[:3], strict=True)]

    def _columns(self, kept):
        filled = kept or [(np.nan, np.nan, np.nan, 0.0)]
        return [np.stack([np.broadcast_to(column[i], self.n) for column in filled], 1).astype(float) for i in range(4)]


@dataclass(frozen=True, eq=False)
class Estimates:
    """What is held of n athletes: θ and covariance by engine, θ and SD (n, M) of movements."""

    engine_mean: dict
    engine_cov: dict
    mean: np.ndarray
    sd: np.ndarray

    def room(self, names):
        mean, sd = np.full((2, len(self.mean), len(names), 1), np.nan)
        for s, name in enumerate(names):
            if name in MOVEMENTS:
                mean[:, s, 0], sd[:, s, 0] = (array[:, MOVEMENTS.index(name)] for array in (self.mean, self.sd))
        return Room(self.engine_mean, self.engine_cov, mean, sd, np.ones(mean.shape, bool))

    def errors(self, people):
        """Error (n, 4 + M) of the log of the power or repetitions that can be held, and the SD it is held to have."""
        gradient = {engine: hold_power_gradient(mean, **PROGRAMMED) for engine, mean in self.engine_mean.items()}
        error = [_held(self.engine_mean[engine]) - _held(people.engines[:, e]) for e, engine in enumerate(ENGINES)]
        variance = [np.einsum("na,nab,nb->n", g, self.engine_cov[engine], g) for engine, g in gradient.items()]
        return (
            np.concatenate([np.stack(error, 1), self.mean - people.movements], 1),
            np.concatenate([np.sqrt(np.stack(variance, 1)), self.sd], 1),
        )


def _held(theta):
    return np.log(hold_power(*np.exp(theta.T), **PROGRAMMED))


def estimated(people, book, day):
    """The `Estimates` as of a day."""
    efforts = {engine: Efforts(*book.observed(engine, day)) for engine in ENGINES}
    means, covariances = estimate_engines(efforts, people.sex, people.mass)
    columns = [book.observed(name, day) for name in MOVEMENTS]
    width = max(values.shape[1] for values, _, _ in columns)
    values, sds = (
        np.stack([np.pad(c[i], ((0, 0), (0, width - c[i].shape[1])), constant_values=np.nan) for c in columns], 1)
        for i in (0, 2)
    )
    return Estimates(means, covariances, *estimate_together(values, sds, PRIOR, PRIOR_COV[None]))
