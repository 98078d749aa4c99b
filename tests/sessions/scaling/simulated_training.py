"""What the invented athletes of `simulated_gym` really do with their targets, round by round, and how they rate it."""

from dataclasses import dataclass

import numpy as np

from athletes.capacity.constants import ENGINES
from sessions.scaling.constants import OTHER_WORK_SHARE
from sessions.scaling.engine import dose_at_power, fast_tau, power_for_dose
from sessions.scaling.fade import fade
from tests.sessions.scaling.simulated_gym import MOVEMENTS

DAY_SD, STATION_DAY_SD = 0.025, 0.02  # of log capacity: of a whole day, and of one station on that day
RATING_SD = 1.0  # points, from day to day
LESS = 0.85  # of the dose is tried in the next round by who missed one


@dataclass(frozen=True, eq=False)
class Done:
    """`rounds` (n, S) of a `dose` (n, S) that they log, `rpe` (n,), and `peak` (n, S), the greatest share of what they
    can do that the targets would have asked of them.

    Who misses a round logs those made before it; who misses the first logs what was done in all rounds on average.
    """

    rounds: np.ndarray
    dose: np.ndarray
    rpe: np.ndarray
    peak: np.ndarray


def train(rng, people, plan, names, target):
    """The `Done` of people with targets (n, S)."""
    body = _bodies(rng, people, plan, names, target)
    n, stations = target.shape
    x, dose = np.zeros((2, plan.rotations, stations, n))
    rounds, failed = np.zeros((n, stations), int), np.zeros((n, stations), bool)
    peak, trying = np.zeros((n, stations)), target.astype(float)
    for r, s in np.ndindex(plan.rotations, stations):
        tired = _tired(people, plan, body, x, r, s)
        asked = body.fraction(s, trying[:, s])
        could = np.maximum(1.0 - tired, 0.0) / (1.0 + body.ramp[s])
        peak[:, s] = np.maximum(peak[:, s], tired + asked * (1.0 + body.ramp[s]))
        makes = asked <= could
        x[r, s] = np.minimum(asked, could)
        dose[r, s] = np.where(makes, trying[:, s], np.minimum(body.dose(s, could), trying[:, s]))
        failed[:, s] |= ~makes
        rounds[:, s] += ~failed[:, s]
        trying[:, s] = np.where(makes, trying[:, s], np.floor(LESS * trying[:, s]))
    left = 10.0 * (1.0 - np.minimum(peak.max(1), 1.0)) * people.rpe_slope
    rating = 10.0 - left + people.rpe_bias + rng.normal(0.0, RATING_SD, n)
    at_once = rounds == 0
    return Done(
        rounds=np.where(at_once, plan.rotations, rounds),
        dose=np.where(at_once, np.floor(dose.mean(0).T), target),
        rpe=np.clip(np.round(rating), 1.0, 10.0),
        peak=peak,
    )


@dataclass(frozen=True, eq=False)
class _Bodies:
    """By station, each (S, n): x = (power or dose − free)·cost, with the ramp's share, fading with tau [s]."""

    cost: np.ndarray
    free: np.ndarray
    ramp: np.ndarray
    tau_s: np.ndarray
    window_s: np.ndarray
    options: tuple
    overlap: np.ndarray

    def fraction(self, s, dose):
        if self.options[s].engine:
            dose = power_for_dose(dose, self.window_s[s], *self._monitor(s))
        return np.maximum(dose - self.free[s], 0.0) * self.cost[s]

    def dose(self, s, fraction):
        most = self.free[s] + fraction / self.cost[s]
        return dose_at_power(most, self.window_s[s], *self._monitor(s)) if self.options[s].engine else np.floor(most)

    def _monitor(self, s):
        o = self.options[s]
        return o.dose_kind == "kcal", o.engine == "run", o.kcal_base, o.kcal_slope


def _bodies(rng, people, plan, names, target):
    n, stations = target.shape
    options = tuple(station.options[0] for station in plan.stations)
    window_s = np.array([s.work_window_s - o.setup_s for s, o in zip(plan.stations, options, strict=True)])
    form = np.exp(rng.normal(0.0, DAY_SD, n) + rng.normal(0.0, STATION_DAY_SD, (stations, n)))
    seconds = [window_s[s] if o.engine else target[:, s] * o.seconds_per_unit for s, o in enumerate(options)]
    cost, free, ramp, tau_s = np.zeros((4, stations, n))
    for s, name in enumerate(names):
        if name in ENGINES:
            e = ENGINES.index(name)
            cp, w_prime, k = np.exp(people.engines[:, e].T)
            others_s = sum(busy for j, busy in enumerate(seconds) if j != s)
            between = OTHER_WORK_SHARE * others_s / (plan.rotation_s - window_s[s])
            tau_s[s] = fast_tau(cp, w_prime, between) * people.engine_tau[:, e]
            cost[s], free[s], ramp[s] = window_s[s] / (w_prime * form[s]), cp * form[s], k / window_s[s]
        else:
            m = MOVEMENTS.index(name)
            tau_s[s], cost[s] = people.movement_tau_s[:, m], np.exp(-people.movements[:, m]) / form[s]
    overlap = np.array([[max(np.multiply(a.involvement, b.involvement)) for b in options] for a in options])
    return _Bodies(cost, free, ramp, tau_s, window_s, options, overlap)


def _tired(people, plan, body, x, r, s):
    """Fatigue (n,) at station s in round r from all that was done before."""
    tired = 0.0
    for q, j in np.ndindex(r + 1, len(body.options)):
        if q == r and j >= s:
            continue
        if j == s:
            work_s = body.window_s[s] if body.options[s].engine else 0.0
            lag_s, share = (r - q) * (plan.rotation_s - work_s), 1.0
        else:
            lag_s, share = (r - q) * plan.rotation_s + (s - j) * plan.interval_s, people.coupling * body.overlap[s, j]
        tired = tired + share * fade(lag_s, body.tau_s[s], people.slow_share) * x[q, j]
    return tired
