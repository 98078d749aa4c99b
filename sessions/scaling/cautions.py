"""Cautions that are computed: the first weeks, unaccustomed volume, heat.

They lower what is asked and never raise it; none of them promises that nobody is hurt. They never multiply: the
strictest one alone counts, and they take rounds before they take the dose.
"""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from enum import IntEnum
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array, IntArray
from sessions.scaling.constants import HEADROOMS, ROUNDING_SLACK

# --- Exposure guard (common practice: unaccustomed volume is the known cause of exertional rhabdomyolysis) ---
EXPOSURE_DAYS = 28
EXPOSURE_GROWTH = 2.0  # times the biggest session of those days

# --- Return after a break: Caterisano et al. 2019, Strength Cond J 41(3):1–23 (details from memory) ---
BREAK_DAYS = 14
RAMP_SHARES = (0.5, 0.7, 0.8, 0.9)  # of the volume, in weeks 1 to 4
RAMP_DAYS = 7 * len(RAMP_SHARES)
# A break counts only for someone whose training the gym records: so many sessions in so many days before it (ours)
RECORDED_DAYS, RECORDED_SESSIONS = 42, 12

# --- Heat: WBGT [°C] from which on the intent drops a level, two, and nobody trains. The thresholds of the position
# stand on exertional heat illness, American College of Sports Medicine 2007, Med Sci Sports Exerc 39:556–572 ---
HEAT_LIMITS_C = (27.8, 30.0, 32.2)

INTENTS = tuple(HEADROOMS)  # from the hardest day to the easiest


class HeatStep(IntEnum):
    """Levels by which the intent of the day drops."""

    NONE = 0
    ONE = 1
    TWO = 2
    STOP = 3  # no session


def most_in_session(introductory: ArrayLike, biggest_session_28d: ArrayLike) -> Array:
    """Most of what makes sore in one session, in its own unit; broadcasts.

    A small introductory amount, or twice the biggest session of the last `EXPOSURE_DAYS`; NaN there is none on record.
    """
    return np.asarray(np.fmax(introductory, EXPOSURE_GROWTH * np.asarray(biggest_session_28d, float)), float)


def rounds_within(most: Array, dose: Array, rounds: IntArray) -> IntArray:
    """Rounds of a dose that stay within the `most` of a session, one at least; all broadcast, `most` may be inf."""
    fitting = np.where(dose > 0, np.minimum(most, dose * rounds) / np.where(dose > 0, dose, 1.0), rounds)
    return np.clip(np.floor(fitting + ROUNDING_SLACK).astype(np.int64), np.minimum(rounds, 1), rounds)


def return_day(
    session_dates: Iterable[date], today: date, joined_on: date | None = None, flagged_on: date | None = None
) -> date | None:
    """The day on which the first four weeks that hold on `today` started, or None outside them.

    The latest of: the day of joining, where it is known; the day on which staff flagged a return; the first session
    after `BREAK_DAYS` or more without one, where a session on `today` counts as such. A break counts only where two
    sessions a week are on record in the six weeks before it: who logs now and then has not stayed away.
    `session_dates` are those of logged or attended sessions in any order; what lies after `today` is ignored.
    """
    recorded = sorted({day for day in session_dates if day <= today})
    starts = [
        later
        for earlier, later in pairwise([*recorded, today])
        if (later - earlier).days >= BREAK_DAYS and _trained(recorded, earlier)
    ]
    starts += [day for day in (joined_on, flagged_on) if day is not None]
    latest = max((day for day in starts if day <= today), default=None)
    return latest if latest is not None and ramp_week((today - latest).days) else None


def _trained(recorded: Sequence[date], last: date) -> bool:
    """Whether two sessions a week are on record in the six weeks up to the last one before a break."""
    first = last - timedelta(days=RECORDED_DAYS)
    return sum(first < day <= last for day in recorded) >= RECORDED_SESSIONS


def ramp_week(days_since_return: ArrayLike) -> IntArray:
    """Week of the first four, 1 to 4, and 0 outside them (NaN too); broadcasts."""
    days = np.asarray(days_since_return, float)
    within = (days >= 0) & (days < RAMP_DAYS)
    return np.where(within, np.where(within, days, 0.0) // 7 + 1, 0).astype(np.int64)


def rounds_share(week: ArrayLike) -> Array:
    """Share of the rounds: 50, 70, 80, 90 % in weeks 1 to 4, and all of them in week 0, for none. Broadcasts."""
    return np.array([1.0, *RAMP_SHARES])[np.asarray(week, np.int64)]


def heat_step(wbgt_c: float, limits: Sequence[float] = HEAT_LIMITS_C) -> HeatStep:
    """The `HeatStep` at a WBGT [°C], from three rising limits [°C] that each count once reached.

    ValueError for a temperature that is no number, which must not pass as cool, and for limits that do not rise.
    """
    if not np.isfinite(wbgt_c):
        raise ValueError("Give the wet-bulb globe temperature in °C, or leave heat out.")
    if len(limits) != len(HEAT_LIMITS_C) or not all(low < high for low, high in pairwise(limits)):
        raise ValueError("Heat needs three limits, each above the one before.")
    return HeatStep(sum(wbgt_c >= limit for limit in limits))


def lowered(intent: str, step: HeatStep | int) -> str:
    """The intent "test", "hard", "steady" or "easy" after dropping `step` levels; easy is the last.

    ValueError for another intent, and at `HeatStep.STOP`, where no intent is left.
    """
    if intent not in INTENTS:
        raise ValueError(f"Unknown intent {intent!r}: use one of {', '.join(INTENTS)}.")
    if step >= HeatStep.STOP:
        raise ValueError("Too hot for a session: call it off or move it.")
    return INTENTS[min(INTENTS.index(intent) + step, len(INTENTS) - 1)]
