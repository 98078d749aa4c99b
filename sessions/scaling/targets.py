"""What comes out of the scaling method."""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np


class Bound(IntEnum):
    """What set a dose; where several limits met, the one that took most off it. The way back after a break comes last,
    and is named wherever it lowered a dose.
    """

    PRESCRIPTION = 0  # the whole dose that was wanted
    TIME = 1  # what fits into the work window
    OWN = 2  # the athlete's own capacity at this station
    OTHER_STATION = 3  # sharing the athlete's strength with another station
    REST = 4  # nothing on the ladder can be done usefully
    SAFETY = 5  # the share of the prescription that may be asked of this athlete
    EXPOSURE = 6  # the most that may be asked of this athlete in a round, so that what is new grows slowly
    RETURN = 7  # the way back after a break
    PINNED = 8  # set by hand


class Swap(IntEnum):
    """Why an athlete left the prescribed movement; a rung set by hand is no swap."""

    NONE = 0
    FORBIDDEN = 1  # a limitation or a missing skill
    TOO_LITTLE = 2  # the dose would have been under the least useful one


@dataclass(frozen=True, eq=False)
class Targets:
    """Targets of n athletes at S stations; every array is (n, S) unless said otherwise.

    A station of rest has rung −1, and the figures of nothing to do: dose 0, share 1, probability 1, finish 0. What is
    set by hand stands as it was set: it may exceed the prescription, and where it is too much, headroom is negative.
    """

    rung: np.ndarray  # of the swap ladder; 0 is the prescription, −1 is rest
    dose: np.ndarray  # kcal, metres, repetitions or seconds, in whole steps
    wanted_dose: np.ndarray  # the rung's prescription times the intent of the day
    own_cap_dose: np.ndarray  # what this station alone would allow, in whole steps; may exceed the prescription
    most: np.ndarray  # of the wanted dose, as much as may be asked of this athlete
    alone: np.ndarray  # of that, what this station alone would allow, before rounding
    free: np.ndarray  # of that, what costs nothing that lasts: an engine's dose at the critical power
    shared: np.ndarray  # what the other stations leave of it, before rounding
    whole: np.ndarray  # that in whole steps, before the way back after a break
    share: np.ndarray  # of the athlete's capped dose above what costs nothing, left by sharing: 0 to 1
    hold: np.ndarray  # power to hold [W], running: speed [m/s]; NaN for movements and rest
    done_by_s: np.ndarray  # second of the interval by which the dose is done
    headroom: np.ndarray  # predicted share of the capacity left in the last round
    probability: np.ndarray  # of holding this dose in every round
    sd_log: np.ndarray  # SD of the logarithm of the predicted target
    bound: np.ndarray  # a `Bound`
    bound_by: np.ndarray  # index of the other station for OTHER_STATION, else −1
    swap: np.ndarray  # a `Swap`
    demand: np.ndarray  # the demand matrix at the most probable capacity, (n, S, S)
