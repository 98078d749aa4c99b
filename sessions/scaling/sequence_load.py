"""What a sequence asks of an athlete at a level of effort: the fatigue model of the circuits, leg after leg.

At level e a leg is done at P = CP + e·(best − CP), best the best even power for the time it takes. It asks
x = (P − CP)·t / W' of its own engine and c·x of every other one. At its end the load of its engine is what is left of
all that has been asked so far, and (k / t)·x more, which must be left to hold P at the end: so alone it is e.

Nothing recovers during a leg, on any engine (working model): a leg is done at CP or above, and what one engine takes
from heart and lungs the others lack. The mean demand of other stations in a circuit, `OTHER_WORK_SHARE`, is for mixed
minutes; in hard legs it would let so much come back that 1,000 m run and 1,000 m ski, three times without rest, came
out faster than 2,000 m run alone. In rest all fades as in `fade`, with each engine's own constant.
"""

from dataclasses import replace

import numpy as np

from athletes.capacity.best import best_power, best_time_for_distance, best_time_for_kcal
from sessions.scaling.constants import COUPLING, SLOW_SHARE, SLOW_TAU_S
from sessions.scaling.engine import fast_tau

# Of two engines (working model). Hard arm-cranking beforehand leaves CP on the bike as it is and 11.8 of 17.3 kJ of W'
# (Johnson et al. 2014, Med Sci Sports Exerc 46:802–808): as the coupling has it in full, few as the shared muscles are.
ENGINE_OVERLAP = 1.0


def efforts(sequence, engines, theta, level):
    """Power [W] (running: speed) and seconds of each leg, two arrays (L, ...), at a level (...), 0 < e <= 1.

    `theta` (E, ..., 3) holds log CP, log W' and log k of each of `engines`. At level e an athlete is one with the same
    CP and e times the W'.
    """
    reduced = theta + np.log(level)[..., None] * np.array([0.0, 1.0, 0.0])
    done = {}
    for leg in map(_without_rest, sequence.legs):
        if leg not in done:  # equal legs are worked out once
            own = reduced[engines.index(leg.engine)]
            seconds = np.broadcast_to(_seconds(leg, own), own.shape[:-1])
            done[leg] = best_power(seconds, own), seconds
    power, seconds = zip(*(done[_without_rest(leg)] for leg in sequence.legs), strict=True)
    return np.stack(power), np.stack(seconds)


def peak_load(sequence, engines, theta, power, seconds):
    """Highest load (...) at the end of any leg, as a share of the capacity; arguments as in and from `efforts`."""
    critical_power, w_prime, ramp_s = np.exp(np.moveaxis(theta, -1, 0))
    tau_s = np.stack(np.broadcast_arrays(fast_tau(critical_power, w_prime, 0.0), SLOW_TAU_S))
    # Both (2, E, ...), fast and slow: the fatigue of a round, and what is left of that from before it
    fatigue, left = np.zeros(tau_s.shape), np.ones(tau_s.shape)
    ends = []
    for leg, watts, worked_s in zip(sequence.legs, power, seconds, strict=True):
        own = engines.index(leg.engine)
        asked = (watts - critical_power[own]) * worked_s / w_prime[own]
        fatigue = fatigue + _divided(asked, own, len(engines))
        ends.append((own, fatigue[:, own], left[:, own], ramp_s[own] / worked_s * asked))
        rested = np.exp(-leg.rest_s / tau_s)
        fatigue, left = fatigue * rested, left * rested
    before = np.zeros(fatigue.shape)
    for _ in range(sequence.times - 1):
        before = before * left + fatigue
    # No earlier round asks more than the last one
    return np.max([(new + old * before[:, own]).sum(0) + ramp for own, new, old, ramp in ends], axis=0)


def _without_rest(leg):
    return replace(leg, rest_s=0.0)


def _seconds(leg, theta):
    """Shortest time [s] for a leg."""
    if leg.kind == "metres":
        return best_time_for_distance(leg.engine, leg.amount, theta)
    if leg.kind == "kcal":
        return best_time_for_kcal(leg.amount, theta, leg.kcal_base, leg.kcal_slope)
    return np.asarray(leg.amount, float)


def _divided(asked, own, engines):
    """What a leg adds to the fatigue of every engine, (2, E, ...): the part that fades fast, and the slow one."""
    share = np.full(engines, COUPLING * ENGINE_OVERLAP)
    share[own] = 1.0
    return np.multiply.outer(np.outer([1.0 - SLOW_SHARE, SLOW_SHARE], share), asked)
