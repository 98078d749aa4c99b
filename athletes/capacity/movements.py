"""What is believed of a movement before any benchmark: by sex, body mass and age, wide, and meant to be overruled.

A movement's typical best is that of the middle of a mixed gym, halfway (in the logarithm) between a man of 82 kg and a
woman of 68 kg, both up to 35 years old. The sex, mass and age of an athlete move it; what is not known widens it.

A *paced* movement (burpees, step-ups, jumps, skipping, air squats) is limited by breath and rhythm before the muscle.
It has the curve of an engine with repetitions a minute for power: R(t) = CR + W' / (t + k), W' in rep/min · s.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from athletes.capacity.arrays import Array
from athletes.capacity.constants import PATTERNS
from athletes.capacity.people import AGE_SPREAD_YEARS, MASS_LOG_SD, People

REPETITIONS, HOLD, LOADED, PACED = KINDS = ("repetitions", "hold", "loaded", "paced")

# Half the log difference between men and women, each of average mass.
# Lifts: women lift 52 % of men's loads with the upper body and 66 % with the lower (Miller et al. 1993, Eur J Appl
# Physiol 66:254–262; from memory); in gyms somewhat less with the legs (common practice).
SEX_OF_UPPER_LIFTS, SEX_OF_OTHER_LIFTS = 0.33, 0.26
# Repetitions: as a share of the movement's spread, for what few can do at all divides the sexes most (common practice).
SEX_SHARE = {"pull": 0.65, "push": 0.50, "grip": 0.50}
SEX_SHARE_OF_OTHERS = 0.30
SEX_OF_HOLDS, SEX_OF_PACED = 0.10, 0.12
UPPER_BODY = ("pull", "push", "grip")

# Exponents of body mass. Lifts: about 2/3 (allometric scaling; Vanderburgh & Batterham 1999, from memory). Unbroken
# repetitions carry the body (chin-ups against mass, Linnerud: r = −0.39). Common practice otherwise.
MASS_OF_LIFTS, MASS_OF_HOLDS, MASS_OF_PACED = 0.67, -0.30, -0.30
MASS_OF_REPETITIONS = {"pull": -0.6, "push": -0.4, "grip": -0.5, "trunk": -0.2, "squat": -0.2}
MASS_OF_OTHERS = 0.0  # a bell or a ball of its own weight

# Log change a year beyond 35. Lifts: common practice, near what records of lifters show (Anton et al. 2004, from
# memory). Repetitions: tables of the general public fall by 0.02 to 0.03 a year; members who train by less.
AGE_RATE = {LOADED: -0.008, REPETITIONS: -0.015, HOLD: -0.010, PACED: -0.010}

LEAST_KNOWN_SHARE = 0.6  # of the typical spread: what sex, mass and age leave of it at least (ours)

# The curve of a paced movement from the most in one minute, R60: CR = 0.6·R60, k = 40 s, W' = 0.4·(60 + 40)·R60.
# So seven minutes go at 0.69 of the minute's rate and the first seconds at 1.6 of it (burpees of members who did both
# a minute and seven; common practice).
CRITICAL_SHARE, PACED_RAMP_S, MINUTE_S = 0.6, 40.0, 60.0
RESERVE_SHARE_S = (1.0 - CRITICAL_SHARE) * (MINUTE_S + PACED_RAMP_S)
PACED_RESERVE_LOG_SD, PACED_RAMP_LOG_SD = 0.40, 0.40
CURVE_SCALE = np.array([1.0, 1.0, 0.0])  # along which a whole curve rises: every rate (or power) by the same factor
PACED_LOG_SD = 0.30  # spread of the most in one minute in a mixed gym, for `Movement.log_sd` (common practice)


@dataclass(frozen=True)
class Movement:
    """A movement as the estimates need it.

    `median`, the typical best: unbroken repetitions, seconds of a hold, kilograms once; the most in one minute where it
    is paced (`minute_rate`). `log_sd` its spread in a mixed gym. `involvement`: weights of `PATTERNS`, empty where not
    known. What the gym's own athletes have taught (`gym_prior.learn`): `shift`, the log of the centre over the typical
    one (of a paced movement that of CR, and `reserve_shift` that of W'), and `learnt_sd`, the SD between athletes of
    known sex, mass and age (of a paced movement that of CR).
    """

    kind: str
    median: float
    log_sd: float
    involvement: tuple[float, ...] = ()
    shift: float = 0.0
    reserve_shift: float = 0.0
    learnt_sd: float | None = None

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"Unknown kind {self.kind!r}: use one of {', '.join(KINDS)}.")
        if not (self.median > 0 and self.log_sd > 0):
            raise ValueError("A movement's prior needs a median and a spread above zero.")

    @property
    def centre(self) -> float:
        """Log of the best in the middle of this gym."""
        return float(np.log(self.median)) + self.shift

    @property
    def pattern(self) -> str:
        """The pattern that it loads most; empty where none is stated."""
        if not self.involvement or max(self.involvement) <= 0:
            return ""
        return PATTERNS[int(np.argmax(self.involvement))]

    @property
    def effects(self) -> tuple[float, float, float]:
        """Half the log difference of the sexes, exponent of mass, log change a year beyond 35."""
        upper = self.pattern in UPPER_BODY
        by_kind = {
            LOADED: (SEX_OF_UPPER_LIFTS if upper else SEX_OF_OTHER_LIFTS, MASS_OF_LIFTS),
            HOLD: (SEX_OF_HOLDS, MASS_OF_HOLDS),
            PACED: (SEX_OF_PACED, MASS_OF_PACED),
            REPETITIONS: (
                SEX_SHARE.get(self.pattern, SEX_SHARE_OF_OTHERS) * self.log_sd,
                MASS_OF_REPETITIONS.get(self.pattern, MASS_OF_OTHERS),
            ),
        }
        return (*by_kind[self.kind], AGE_RATE[self.kind])

    @property
    def known_sd(self) -> float:
        """Log SD between athletes of known sex, mass and age: what those leave of the typical spread."""
        if self.learnt_sd is not None:
            return self.learnt_sd
        by_sex, by_mass, by_age = self.effects
        explained = by_sex**2 + (MASS_LOG_SD * by_mass) ** 2 + (AGE_SPREAD_YEARS * by_age) ** 2
        return float(np.sqrt(max(self.log_sd**2 - explained, (LEAST_KNOWN_SHARE * self.log_sd) ** 2)))


def effects_of(movements: Sequence[Movement]) -> Array:
    """Effects (3, g) of sex, log mass and years beyond 35, as `People.position` is multiplied with."""
    return np.array([movement.effects for movement in movements], float).reshape(len(movements), 3).T


def bests_mean(movements: Sequence[Movement], people: People) -> Array:
    """Log of the best of g movements expected of n athletes, (n, g)."""
    centre = np.array([movement.centre for movement in movements])
    return centre + people.position @ effects_of(movements)


def movement_prior(movement: Movement, people: People) -> tuple[Array, Array]:
    """First guess of a movement for n athletes: log of the best and its SD, (n,) each.

    What is not known of an athlete widens it. ValueError for a paced movement, which has a curve: `paced_prior`.
    """
    if movement.kind == PACED:
        raise ValueError("A paced movement has a curve for its first guess.")
    unknown = people.unknown @ effects_of([movement])[:, 0] ** 2
    return bests_mean([movement], people)[:, 0], np.sqrt(movement.known_sd**2 + unknown)


def minute_rate(unbroken: float, seconds_per_repetition: float) -> float:
    """The most in one minute [rep/min] that goes with an unbroken best at a pace [s a repetition], by the curve."""
    seconds = unbroken * seconds_per_repetition
    share = CRITICAL_SHARE + RESERVE_SHARE_S / (seconds + PACED_RAMP_S)
    return float(MINUTE_S / seconds_per_repetition / share)


def curves_mean(movements: Sequence[Movement], people: People) -> Array:
    """(log CR, log W', log k) of g paced movements expected of n athletes, (n, g, 3)."""
    typical = np.log([movement.median for movement in movements]) + people.position @ effects_of(movements)
    learnt = np.array([[movement.shift, movement.reserve_shift, 0.0] for movement in movements]).reshape(-1, 3)
    shape = np.log([CRITICAL_SHARE, RESERVE_SHARE_S, PACED_RAMP_S])
    mean: Array = typical[..., None] * CURVE_SCALE + shape + learnt
    return mean


def curves_sd(movements: Sequence[Movement]) -> Array:
    """SDs (g, 3) of (log CR, log W', log k) between athletes of known sex, mass and age."""
    sds = [[movement.known_sd, PACED_RESERVE_LOG_SD, PACED_RAMP_LOG_SD] for movement in movements]
    return np.array(sds, float).reshape(-1, 3)


def paced_prior(movement: Movement, people: People) -> tuple[Array, Array]:
    """First guess of a paced movement for n athletes: mean (n, 3) and covariance (n, 3, 3) of (log CR, log W', log k).

    ValueError for a movement that is not paced.
    """
    if movement.kind != PACED:
        raise ValueError("Only a paced movement has a curve.")
    along = np.outer(effects_of([movement])[:, 0], CURVE_SCALE)
    unknown: Array = np.einsum("nf,fa,fb->nab", people.unknown, along, along)
    return curves_mean([movement], people)[:, 0], np.diag(curves_sd([movement])[0] ** 2) + unknown
