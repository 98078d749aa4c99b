"""What comes out of the scaling method."""

from dataclasses import dataclass
from enum import IntEnum

from athletes.capacity.arrays import Array, BoolArray, IntArray


class Reason(IntEnum):
    """What limits a target: the one thing that took most off it. For a machine; words are made in `explain`."""

    AS_WRITTEN = 0  # the whole dose in every round
    TIME = 1  # what fits into the work window
    OWN = 2  # the athlete's own capacity at this station
    TOGETHER = 3  # other stations tire the same muscles: `reason_station`
    DAY = 4  # the day asks for more to be left: a hard day would be as written
    ROUNDS = 5  # the circuit scales by rounds: the written dose, in fewer of them
    UNTESTED = 6  # a first time
    NEWCOMER = 7  # the first four weeks, or those after a break
    UNACCUSTOMED = 8  # more of what makes sore than the athlete is used to
    BY_HAND = 9  # set by a coach
    NO_TARGET = 10  # nothing is set without a coach
    REST = 11  # nothing on the ladder is allowed


class Swap(IntEnum):
    """Why an athlete left the prescribed movement; a rung set by hand is no swap."""

    NONE = 0
    FORBIDDEN = 1  # a limitation or a missing skill
    TOO_LITTLE = 2  # the dose would have been under the least useful one
    NEWCOMER = 3  # a newcomer does what neither makes sore nor needs skill
    UNACCUSTOMED = 4  # a movement that does not make sore instead of one that would


@dataclass(frozen=True, eq=False)
class Targets:
    """Targets of n athletes at S stations; every array is (n, S) unless said otherwise.

    A station of rest, or without a target, has rung −1, and the figures of nothing to do: dose 0, rounds 0,
    probability 1. What is set by hand stands as it was set: it may exceed the prescription, and where it is too much,
    headroom is negative.
    """

    rung: IntArray  # of the swap ladder; 0 is the prescription, −1 is rest
    dose: Array  # kcal, metres, repetitions or seconds, in whole steps
    rounds: IntArray  # the first so many of the circuit's
    hold: Array  # power to hold [W], running: speed [m/s], paced: repetitions a minute; NaN for the others and rest
    finish_by_s: Array  # second of the interval by which the dose is done
    headroom: Array  # share of the capacity left in the last round, at the most probable capacity
    probability: Array  # of holding this dose in every round, with the model's own doubt
    own_dose: Array  # what this station alone would allow on the day, not rounded; may exceed the prescription
    written: Array  # the rung's prescription
    least: Array  # its least useful dose
    sd_log: Array  # SD of the log of what can be held, as far as the capacity is known: the firmness
    expected_rpe: Array  # (n,) of the session, CR-10; NaN where nothing is asked
    reason: IntArray  # a `Reason`
    reason_station: IntArray  # index of the other station for TOGETHER, else −1
    swap: IntArray  # a `Swap`
    demand: Array  # (n, S, S) the demand matrix at the most probable capacity, of the rounds done; 0 at rest
    cost: Array  # of the capacity, what one set takes and
    free: Array  # what of that costs nothing: x = max(cost − free, 0); for repetitions n / M and 0
    rounds_as_prescribed: IntArray  # (n,) most rounds in which all could be done as prescribed with the headroom
    open_last: BoolArray  # whether the last round is done as far as it goes
    expected: Array  # (n, 3) off the clock: the time [s], or the rounds, and the ends of its band; NaN on the clock
