"""What logged rounds say of the athletes' capacities (working model).

With capacities e^δ as large an engine's fraction x = (P − CP)·w/W' becomes max(P·e^−δ − CP, 0)·w/W' and a movement's
n/M becomes n/M·e^−δ, while G stays as it is. So a log that tells how large a load G·x was tells δ.

A missed round tells it of its own station: the load was 1 with what was done. Where that is hard to
believe, of a session rated as light, it says hardly more than "a little gentler". A rating tells it of the hardest
station, and nobody says which that was. Each capacity is known with an SD of its own, so the greatest load g is drawn
from what is known; with D = −E[∂g/∂δ] of a station, the best linear estimate of its δ from a rated share u (by Stein's
lemma) is the one that an observation (E[g] − u)/D of variance (Var[g] + σ²)/D² − SD² of that station alone would give.
"""

from dataclasses import dataclass

import numpy as np

from sessions.scaling.constants import REST
from sessions.scaling.exertion import hardest, share_sd, share_used
from sessions.scaling.worked import SAME, rounds_made, work_of

# Expected of a session at least, or its rating is not heard: far from failure ratings say little. It makes an easy
# session (RPE 4 or less) that was completed never lower an estimate. Ours.
HEARD_SHARE = 0.4
LEAST_PART = 0.2  # how likely a station must be the hardest for a rating to be heard there (ours)
MOST_SHIFT = np.log(2.0)  # of one log, in log capacity: logs may inform, not alone push an estimate far (ours)
# A miss of little, `NEARLY` all being done, where so small a share of the capacity was expected to be used and the
# rating is under `SPENT_RPE`, was hardly for want of capacity (ours): somebody was late, or left some.
NEARLY, LIGHT_SHARE, SPENT_RPE = 0.8, 0.25, 7.0
LIGHT_MISS_SHIFT = np.log(0.9)  # what such a miss says at most: that targets should be a little gentler (ours)
LIGHT_MISS_SD = 0.15  # and its SD, in log capacity
MISS_SD = 0.08  # of capacity: pacing and will, where a round was missed (working model)
LEAST_ROOM = 0.1  # of capacity that others leave a station at least, where a round was missed (ours)

# Share by which a person's fatigue differs from the model's: from earlier sets, which follow the fast time constant
# (its log-SD is 0.4 between people) about half as far, and from other stations (working model).
FADE_SD = 0.20
COUPLING_SD = 0.50


@dataclass(frozen=True, eq=False)
class Logged:
    """What n athletes logged of one circuit, and what was asked of them.

    `rung`, `dose` (n, S) and `demand` (n, S, S) are those of their `Targets`. `rounds` (n, S) counts the rounds with a
    `done_dose` (n, S), in the unit of the dose: who fell short from the first round on logs all rounds with less. Both
    are NaN where a station was not logged, and 0 where it was left out. `rpe` (n,) rates the whole session, CR-10, NaN
    where there is no rating. Sessions stopped, or with pain, do not belong here.
    """

    rung: np.ndarray
    dose: np.ndarray
    demand: np.ndarray
    rounds: np.ndarray
    done_dose: np.ndarray
    rpe: np.ndarray


@dataclass(frozen=True, eq=False)
class Evidence:
    """Observations from one logged session, arrays (n, S), NaN where nothing is said.

    Of an engine `power_w` (running: speed, m/s) that could be held evenly for `duration_s`; of a movement the most
    unbroken `repetitions` (or seconds of a hold), at its load where it has one. `sd_log` is the SD of either's log.
    """

    power_w: np.ndarray
    duration_s: np.ndarray
    repetitions: np.ndarray
    sd_log: np.ndarray


def evidence(circuit, room, logged):
    """The `Evidence` in what the athletes of a `Room` logged of a `Circuit`.

    A session that was completed is read by its rating, and says nothing without one. Where a round was missed, that
    station had used its all with what was done; the others then only say that what they did was possible.
    ValueError for a rating outside CR-10.
    """
    work = work_of(circuit, room, logged.rung, logged.rounds, logged.done_dose)
    asked = (logged.rung != REST) & (logged.dose > 0)
    silent = (asked & np.isnan(logged.rounds * logged.done_dose)).any(-1, keepdims=True)
    completed = (logged.rounds >= circuit.rotations) & (logged.done_dose >= logged.dose * (1.0 - SAME))
    missed = work.present & ~completed
    any_missed = missed.any(-1, keepdims=True)
    share = np.where(silent, np.nan, share_used(logged.rpe)[:, None])
    spent, rated = _spent(circuit, work, logged, missed), _rated(work, logged.demand, share)
    shift, sd, fraction = (np.where(any_missed, *both) for both in zip(spent, rated, strict=True))
    load = (logged.demand * work.fraction[:, None, :]).sum(-1)
    nearly = logged.rounds * logged.done_dose >= NEARLY * circuit.rotations * logged.dose
    light = missed & nearly & (load < LIGHT_SHARE) & (logged.rpe < SPENT_RPE)[:, None]
    possible = np.where(light, np.maximum(spent[0], LIGHT_MISS_SHIFT), spent[0])
    shift = np.maximum(np.where(light, possible, shift), possible)  # what was done was possible
    sd = np.where(light, np.hypot(sd, LIGHT_MISS_SD), sd)
    said = work.present & work.readable & np.isfinite(sd)
    factor = np.exp(np.clip(shift, -MOST_SHIFT, MOST_SHIFT))
    duration_s = work.even_effort_s(fraction)
    return Evidence(
        power_w=np.where(said & work.is_engine, work.best_power(duration_s) * factor, np.nan),
        duration_s=np.where(said & work.is_engine, duration_s, np.nan),
        repetitions=np.where(said & ~work.is_engine, work.most * factor, np.nan),
        sd_log=np.where(said, sd, np.nan),
    )


def _rated(work, demand, share):
    """From a rated share (n, 1): shifts (n, S) of the log capacities, their SDs, NaN where nothing is heard, and the
    fraction x of an even effort that asks of the capacity what these sets do."""
    at = hardest(work, demand)
    heard = (at.part >= LEAST_PART) & (at.slope > 0) & (at.load >= HEARD_SHARE) & ~np.isnan(share)
    slope = np.where(heard, at.slope, np.nan)
    days = ((work.trial_sd * at.slope) ** 2).sum(-1, keepdims=True)
    error = share_sd(at.load) ** 2 + (FADE_SD * at.earlier) ** 2 + (COUPLING_SD * at.others) ** 2 + days
    # Drawn variances are only nearly those of the formula, so what remains is held at the error itself.
    variance = np.maximum(at.variance + error - (slope * work.sd) ** 2, error)
    return (at.load - share) / slope, np.sqrt(variance) / slope, work.fraction


def _spent(circuit, work, logged, missed):
    """As `_rated`, where a station had used its all because it `missed` (n, S) a round.

    Its own load was then what others left: G·(cost·e^−δ − free) = 1 − others. A station that made its rounds in such a
    session is heard only where that takes more capacity than is expected.
    """
    demand, between = rounds_made(circuit, work, logged.demand, logged.rounds)
    parts = demand * work.fraction[:, None, :]
    own = np.diagonal(demand, axis1=1, axis2=2)
    others = parts.sum(-1) - np.diagonal(parts, axis1=1, axis2=2)
    left = np.maximum(1.0 - others, LEAST_ROOM)
    slope = left + own * work.free
    whole = np.where(own > 0, own, np.inf)
    with np.errstate(divide="ignore"):
        shift = np.log(own * work.cost / slope)
    earlier = left * np.maximum(1.0 - (1.0 + work.ramp_share) / whole, 0.0)
    error = MISS_SD**2 + (between * left) ** 2 + (FADE_SD * earlier) ** 2 + (COUPLING_SD * others) ** 2
    sd = np.hypot(np.sqrt(error) / slope, work.trial_sd)
    return shift, np.where(missed | (shift > 0.0), sd, np.nan), left / whole
