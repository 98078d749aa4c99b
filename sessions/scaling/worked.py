"""What athletes did in a circuit, measured against what they are held to be capable of."""

from dataclasses import dataclass

import numpy as np

from athletes.capacity.constants import POWER_TRIAL_SD, REPETITIONS_AT_LOAD_CAP, REPETITIONS_TRIAL_SD
from athletes.capacity.power_duration import log_power_sd, power
from sessions.scaling.constants import REST
from sessions.scaling.engine import power_for_dose
from sessions.scaling.fade import fade_sum

LONGEST_S = 3600.0  # an engine's curve is not read beyond (working model)
TAU_BOUNDS_S = (1.0, 1e6)  # where a fast time constant is looked for
HALVINGS = 40  # of that range on a log scale
SAME = 1e-6  # of a number that was rounded when it was stored


@dataclass(frozen=True, eq=False)
class Work:
    """What n athletes did at S stations; arrays (n, S).

    Of a capacity e^δ as large as the most probable one it takes the fraction max(`cost`·e^−δ − `free`, 0): for an
    engine `cost` is P·w/W' and `free` CP·w/W', for a movement n/M and 0.
    """

    present: np.ndarray  # anything was done
    readable: np.ndarray  # and it can say something of the capacity
    is_engine: np.ndarray
    window_s: np.ndarray  # work window without set-up
    critical_power: np.ndarray  # of the most probable capacity, as the two next; 1 where there is none
    w_prime: np.ndarray
    ramp_s: np.ndarray
    most: np.ndarray  # unbroken best of a movement
    cost: np.ndarray
    free: np.ndarray
    sd: np.ndarray  # SD of the log of the capacity, as far as this work draws on it

    @property
    def ramp_share(self):
        """k / w of an engine, 0 for a movement."""
        return np.where(self.is_engine, self.ramp_s / self.window_s, 0.0)

    @property
    def trial_sd(self):
        """How far one day differs from another, SD of the logarithm."""
        return np.where(self.is_engine, POWER_TRIAL_SD, REPETITIONS_TRIAL_SD)

    @property
    def fraction(self):
        """x of the most probable capacity."""
        return np.maximum(self.cost - self.free, 0.0)

    def even_effort_s(self, fraction):
        """Duration [s] of the even effort at the power that takes an engine a fraction x of W' in its window."""
        with np.errstate(divide="ignore"):
            return np.clip(self.window_s / fraction - self.ramp_s, self.window_s, LONGEST_S)

    def best_power(self, duration_s):
        """Most probable best even power of an engine for a duration [s]."""
        return power(duration_s, self.critical_power, self.w_prime, self.ramp_s)


def work_of(circuit, room, rung, rounds, dose):
    """The `Work` of `rounds` (n, S) with a `dose` (n, S) at the rungs (n, S); nothing where one of them is 0 or NaN."""
    found = {name: np.ones(rung.shape) for name in ("window_s", "critical_power", "w_prime", "ramp_s", "most")}
    found |= {name: np.zeros(rung.shape) for name in ("cost", "free", "sd")}
    found |= {name: np.zeros(rung.shape, bool) for name in ("is_engine", "readable")}
    present = (rung != REST) & (dose > 0) & (rounds > 0)
    for s, station in enumerate(circuit.stations):
        for at, option in enumerate(station.options):
            here = np.flatnonzero(present[:, s] & (rung[:, s] == at))
            read = _engine if option.engine else _movement
            own = read(option, room, station.work_window_s - option.setup_s, dose[here, s], here, s, at)
            for name, values in own.items():
                found[name][here, s] = values
    return Work(present=present, **found)


def _engine(option, room, window_s, dose, here, *_):
    theta, covariance = room.engine_mean[option.engine][here], room.engine_cov[option.engine][here]
    critical_power, w_prime, ramp_s = np.exp(theta.T)
    monitor = option.dose_kind == "kcal", option.engine == "run", option.kcal_base, option.kcal_slope
    done = power_for_dose(dose, window_s, *monitor)
    with np.errstate(divide="ignore"):
        seconds = w_prime / np.maximum(done - critical_power, 0.0) - ramp_s
    return {
        "is_engine": True,
        "readable": True,
        "window_s": window_s,
        "critical_power": critical_power,
        "w_prime": w_prime,
        "ramp_s": ramp_s,
        "cost": done * window_s / w_prime,
        "free": critical_power * window_s / w_prime,
        "sd": log_power_sd(np.clip(seconds, window_s, LONGEST_S), theta, covariance),
    }


def _movement(option, room, window_s, dose, here, s, at):
    most = np.exp(room.repetitions_mean[here, s, at])
    # A light load ends for other reasons than its maximum, and the most repetitions at it are not known.
    light = (option.dose_kind == "load_repetitions") & (most >= REPETITIONS_AT_LOAD_CAP * (1.0 - SAME))
    return {
        "readable": ~light,
        "window_s": window_s,
        "most": most,
        "cost": dose / most,
        "sd": room.repetitions_sd[here, s, at],
    }


def rounds_made(circuit, work, demand, rounds):
    """The demand (n, S, S) at the end of `rounds` (n, S), and half the step to the next round's as a share of it.

    Who makes r of R rounds had enough for r and not for r + 1, so the sum of a station's sets is taken half way. The
    fast time constant is the one that the demand implies.
    """
    own = np.diagonal(demand, axis1=1, axis2=2)
    refill_s = circuit.rotation_s - np.where(work.is_engine, work.window_s, 0.0)
    low, high = (np.full(own.shape, np.log(bound)) for bound in TAU_BOUNDS_S)
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        short = fade_sum(0.0, refill_s, circuit.rotations, np.exp(middle)) < own - work.ramp_share
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    made = np.clip(np.nan_to_num(rounds), 0, circuit.rotations)
    following = np.minimum(made + 1, circuit.rotations)
    here, beyond = (fade_sum(0.0, refill_s, count, np.exp(high)) for count in (made, following))
    whole = np.where(own > 0, own, 1.0)
    middle = np.where(made < circuit.rotations, 0.5 * (here + beyond) + work.ramp_share, whole)
    return demand * (middle / whole)[..., None], 0.5 * (beyond - here) / middle
