"""What a logged session says of the athletes' capacities (working model): the coach's own double progression.

A log moves the log of a capacity by a bounded step, at each station by its own: nothing where it went as expected, up
after an easy session, down after a hard one or a miss, and up to what was shown. The first session of somebody untested
and an open last round are more than that: a measurement of its own, as log of the capacity over the one assumed, with
an SD. How steps add up and are forgotten is told elsewhere.
"""

from dataclasses import dataclass

import numpy as np

from athletes.capacity.arrays import Array, BoolArray, IntArray
from sessions.scaling.ability import ladder_of
from sessions.scaling.circuit import Circuit
from sessions.scaling.constants import REST, RPE_AT_THE_LIMIT, RPE_PER_HEADROOM
from sessions.scaling.prediction import expected_rpe, largest_factor
from sessions.scaling.targets import Reason, Targets

RPE_BOUNDS = (0.0, 10.0)  # CR-10
SAME_RPE = 1.0  # points between expected and rated that mean nothing
GAIN = 0.2  # of the error in headroom that goes into one step
MOST_STEP = 0.06  # of one rating
MISS_STEP = 0.10  # down, where a dose was missed: two of them take a repetition off five
MOST_LIFT = 0.20  # of one session that showed more than asked: a slip in typing must not run away (ours)
NEAR = 0.25  # headroom beyond the hardest station's from which on a rating says nothing of a station (ours)
SAME = 1e-6  # of a number that was rounded when it was stored

# SDs of the log of the measured capacity (working model)
RATED_SD = 0.15  # from a first session's rating
MISSED_SD = 0.10  # from a first session in which the athlete came to the end of it
OPEN_SD = 0.10  # from an open last round: that of a set to near failure, and how the rounds before told
ONE_MORE = 1.0  # repetition left in an open last round, which stops one short of failing


@dataclass(frozen=True, eq=False)
class Asked:
    """What was asked of n athletes, from their `Targets` as published; (n, S), `demand` (n, S, S)."""

    rung: IntArray
    dose: Array
    rounds: IntArray
    own_dose: Array
    headroom: Array
    demand: Array
    cost: Array
    free: Array
    untested: BoolArray  # neither this nor a close kin was tested or logged before
    together: BoolArray | None = None  # where other stations took their share (`Reason.TOGETHER`)

    @classmethod
    def of(cls, targets: Targets, untested: BoolArray) -> "Asked":
        """From `Targets`; `untested` (n, S) at the rungs they stand on."""
        names = ("rung", "dose", "rounds", "own_dose", "headroom", "demand", "cost", "free")
        values = {name: getattr(targets, name) for name in names}
        return cls(**values, untested=untested, together=targets.reason == Reason.TOGETHER)


@dataclass(frozen=True, eq=False)
class Logged:
    """What n athletes logged: `rounds` (n, S) in which `dose` (n, S) was done, in the unit of the dose, NaN where a
    station was not logged; `rpe` (n,) of the whole session, NaN without; `open_last` (n, S) what an open last round
    came to, NaN without. Sessions stopped, or with pain, do not belong here.
    """

    rounds: Array
    dose: Array
    rpe: Array
    open_last: Array


@dataclass(frozen=True, eq=False)
class Findings:
    """What a session says, (n, S): a `step` of the log capacity, 0 for nothing; and where it measures, `measured`, log
    of the capacity over the one assumed, with its `measured_sd`; NaN elsewhere. A measurement takes the step's place.
    """

    step: Array
    measured: Array
    measured_sd: Array


def read_log(circuit: Circuit, asked: Asked, logged: Logged) -> Findings:
    """What a logged session of a `Circuit` says. ValueError for a rating outside CR-10 and for negative numbers."""
    low, high = RPE_BOUNDS
    if ((logged.rpe < low) | (logged.rpe > high)).any():
        raise ValueError(f"RPE runs from {low:g} to {high:g}: correct the log.")
    if any((np.asarray(number) < 0).any() for number in (logged.rounds, logged.dose, logged.open_last)):
        raise ValueError("Rounds and doses cannot be negative: correct the log.")
    present = (asked.rung != REST) & (asked.dose > 0) & ~np.isnan(logged.rounds * logged.dose)
    missed = present & (logged.rounds * logged.dose < asked.rounds * asked.dose * (1.0 - SAME))
    step = rated_step(asked, logged.rpe, present)
    step = np.where(missed, np.minimum(step, -MISS_STEP), step)
    lift = shown_lift(circuit, asked, logged, present & ~missed)
    step = np.where(lift > 0, np.maximum(step, lift), step)
    measured, sd = _measured(circuit, asked, logged, present, missed)
    return Findings(np.where(np.isnan(measured), step, 0.0), measured, sd)


def rated_step(asked: Asked, rpe: Array, present: BoolArray) -> Array:
    """The step (n, S) that a rating says: in full where a station is as near to the limit as the hardest, less on the
    others, nothing within a point of what was expected.
    """
    error = expected_rpe(asked.headroom, asked.rung != REST) - rpe
    step = np.clip(GAIN * error / RPE_PER_HEADROOM, -MOST_STEP, MOST_STEP)
    step = np.where(np.abs(error) > SAME_RPE, step, 0.0)  # no rating says nothing: NaN compares as False
    return np.where(present, step[:, None] * nearness(asked, present), 0.0)


def nearness(asked: Asked, present: BoolArray) -> Array:
    """How near each station is to the limit, (n, S): 1 as near as the hardest, 0 where `NEAR` more is left."""
    least = np.where(present, asked.headroom, np.inf).min(-1, keepdims=True)
    with np.errstate(invalid="ignore"):
        return np.where(present, np.clip(1.0 - (asked.headroom - least) / NEAR, 0.0, 1.0), 0.0)


def shown_lift(circuit: Circuit, asked: Asked, logged: Logged, whole: BoolArray) -> Array:
    """The step (n, S) that makes what was shown one's own dose, where more was done in every round than asked.

    Where other stations took their share, what was asked was all that was left: less than a step above it.
    """
    ladder = ladder_of(circuit).at(asked.rung)
    more = whole & (ladder.pace_s == 0) & (logged.dose > asked.dose * (1.0 + SAME)) & (asked.own_dose > 0)
    shown = ladder.intensity(np.where(more, logged.dose, 1.0))
    own_dose = asked.own_dose
    if asked.together is not None:
        own_dose = np.where(asked.together, np.minimum(own_dose, asked.dose + 0.5 * ladder.step), own_dose)
    own = ladder.intensity(np.where(more, own_dose, 1.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        lift = np.where(more & (own > 0), np.log(shown / own), 0.0)
    return np.asarray(np.clip(np.nan_to_num(lift), 0.0, MOST_LIFT), float)


def _measured(
    circuit: Circuit, asked: Asked, logged: Logged, present: BoolArray, missed: BoolArray
) -> tuple[Array, Array]:
    """Measurements and their SDs, (n, S), NaN where there is none; an open last round comes before a first session."""
    first, first_sd = first_session(asked, logged, present, missed)
    open_last = open_round(circuit, asked, logged)
    is_open = ~np.isnan(open_last)
    return np.where(is_open, open_last, first), np.where(is_open, OPEN_SD, first_sd)


def first_session(asked: Asked, logged: Logged, present: BoolArray, missed: BoolArray) -> tuple[Array, Array]:
    """What the first session of somebody untested measures, (n, S), and its SD; NaN elsewhere.

    Done in full, the rating says how much was left where it was hardest, and less surely elsewhere; where something was
    missed there, all was used by what was done.
    """
    left = np.clip((RPE_AT_THE_LIMIT - logged.rpe) / RPE_PER_HEADROOM, 0.0, 0.9)[:, None]
    used = np.log(np.maximum(1.0 - asked.headroom, SAME))
    near = nearness(asked, present)
    rated = present & asked.untested & ~missed & ~np.isnan(left) & (near > 0)
    short = present & asked.untested & missed & (logged.rounds * logged.dose > 0)
    with np.errstate(divide="ignore", invalid="ignore"):
        by_rating, sd = used - np.log(1.0 - left), RATED_SD / near
        by_miss = used + np.log(logged.rounds * logged.dose / (asked.rounds * asked.dose))
    return (
        np.where(short, by_miss, np.where(rated, by_rating, np.nan)),
        np.where(short, MISSED_SD, np.where(rated, sd, np.nan)),
    )


def open_round(circuit: Circuit, asked: Asked, logged: Logged) -> Array:
    """Log (n, S) of the capacity that an open last round shows, over the one assumed; NaN without one.

    What was done there takes the place of the last set; with one repetition more all would have been used.
    """
    ladder = ladder_of(circuit).at(asked.rung)
    seen = (asked.rung != REST) & (asked.dose > 0) & ~np.isnan(logged.open_last)
    done = np.where(seen, logged.open_last, 0.0)
    done = np.where(ladder.is_steady, done, done + ONE_MORE * ladder.step)
    per_intensity = asked.cost / np.maximum(ladder.intensity(asked.dose), SAME)
    last = per_intensity * ladder.intensity(done)
    fraction = np.maximum(asked.cost - asked.free, 0.0)
    own = np.diagonal(asked.demand, axis1=1, axis2=2)
    others = np.einsum("nsj,nj->ns", asked.demand, fraction) - own * fraction
    before = np.maximum(own - 1.0, 0.0)  # what the earlier sets weigh; the last one weighs 1
    weight = np.stack([before, np.ones_like(before)], -1)
    cost, free = np.stack([asked.cost, last], -1), np.stack([asked.free, asked.free], -1)
    factor = largest_factor(weight, cost, free, np.maximum(1.0 - others, SAME))
    return np.where(seen & np.isfinite(factor) & (factor > 0), -np.log(np.where(factor > 0, factor, 1.0)), np.nan)
