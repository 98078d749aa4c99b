"""Cautions that are computed: unaccustomed volume, return after a break, heat.

They lower what is asked and never raise it; none of them promises that nobody is hurt.
"""

from enum import IntEnum
from itertools import pairwise

import numpy as np

from sessions.scaling.constants import ROUNDING_SLACK

# --- Exposure guard (common practice: unaccustomed volume is the known cause of exertional rhabdomyolysis) ---
EXPOSURE_DAYS = 28
EXPOSURE_GROWTH = 2.0  # times the biggest session of those days

# --- Return after a break: Caterisano et al. 2019, Strength Cond J 41(3):1–23 (details from memory) ---
BREAK_DAYS = 14
RAMP_SHARES = (0.5, 0.7, 0.8, 0.9)  # of the volume, in weeks 1 to 4
RAMP_DAYS = 7 * len(RAMP_SHARES)
REST_PER_WORK = (4.0, 3.0)  # at least, in weeks 1 and 2

# --- Heat: WBGT [°C] from which on the intent drops a level, two, and nobody trains. The thresholds of the position
# stand on exertional heat illness, American College of Sports Medicine 2007, Med Sci Sports Exerc 39:556–572 ---
HEAT_LIMITS_C = (27.8, 30.0, 32.2)

INTENTS = ("hard", "steady", "easy")


class HeatStep(IntEnum):
    """Levels by which the intent of the day drops."""

    NONE = 0
    ONE = 1
    TWO = 2
    STOP = 3  # no session


def most_in_session(introductory, biggest_session_28d):
    """Most of a high-eccentric movement in one session, in its own unit; broadcasts.

    A small introductory amount, or twice the biggest session of the last `EXPOSURE_DAYS`; NaN there is none logged.
    """
    return np.fmax(introductory, EXPOSURE_GROWTH * np.asarray(biggest_session_28d, float))


def most_per_round(total, rotations):
    """The same for each of `rotations` rounds, whole and rounded down; 0 where it does not reach."""
    return np.floor(np.asarray(total, float) / rotations + ROUNDING_SLACK)


def return_day(session_dates, today, joined_on=None, flagged_on=None):
    """The day on which the ramp that holds on `today` started, or None without one.

    The latest of: the first session after `BREAK_DAYS` or more without a logged one, where a session on `today` counts
    as such; the day of joining; the day on which staff flagged a return. After `RAMP_DAYS` it is over. `session_dates`
    are the dates of logged sessions in any order; what lies after `today` is ignored.
    Someone who never logged and is not new has no ramp, for the gym may not log; someone who stopped logging looks like
    one who stayed away.
    """
    logged = sorted({day for day in session_dates if day <= today})
    starts = [later for earlier, later in pairwise([*logged, today]) if (later - earlier).days >= BREAK_DAYS]
    starts += [day for day in (joined_on, flagged_on) if day is not None]
    latest = max((day for day in starts if day <= today), default=None)
    return latest if latest is not None and ramp_week((today - latest).days) else None


def ramp_week(days_since_return):
    """Week of the ramp, 1 to 4, and 0 outside it (NaN too); broadcasts."""
    days = np.asarray(days_since_return, float)
    within = (days >= 0) & (days < RAMP_DAYS)
    return np.where(within, np.where(within, days, 0.0) // 7 + 1, 0).astype(int)


def ramp_factor(days_since_return):
    """Share of the session volume: 50, 70, 80, 90 % in weeks 1 to 4, then 1; 1 for NaN, no ramp. Broadcasts."""
    return np.array([1.0, *RAMP_SHARES])[ramp_week(days_since_return)]


def longest_work_s(interval_s, week):
    """Longest work [s] in an interval [s] that leaves the rest asked for in a `week` of the ramp; broadcasts.

    1:4 in week 1 and 1:3 in week 2: 12 and 15 s of a minute. Any other week asks for none: the whole interval.
    """
    rest = np.select([np.asarray(week) == number for number in (1, 2)], REST_PER_WORK, 0.0)
    return np.asarray(interval_s, float) / (1.0 + rest)


def wbgt_indoor(tnw, tg):
    """Wet-bulb globe temperature [°C] without sun, from natural wet bulb and globe [°C]: ISO 7243. Broadcasts."""
    return 0.7 * np.asarray(tnw, float) + 0.3 * np.asarray(tg, float)


def wbgt_outdoor(tnw, tg, ta):
    """Wet-bulb globe temperature [°C] in the sun, from natural wet bulb, globe and air [°C]: ISO 7243. Broadcasts."""
    return 0.7 * np.asarray(tnw, float) + 0.2 * np.asarray(tg, float) + 0.1 * np.asarray(ta, float)


def heat_step(wbgt_c, limits=HEAT_LIMITS_C):
    """The `HeatStep` at a WBGT [°C], from three rising limits [°C] that each count once reached.

    ValueError for a temperature that is no number, which must not pass as cool, and for limits that do not rise.
    """
    if not np.isfinite(wbgt_c):
        raise ValueError("Give the wet-bulb globe temperature in °C, or leave heat out.")
    if len(limits) != len(HEAT_LIMITS_C) or not all(low < high for low, high in pairwise(limits)):
        raise ValueError("Heat needs three limits, each above the one before.")
    return HeatStep(sum(wbgt_c >= limit for limit in limits))


def lowered(intent, step):
    """The intent "hard", "steady" or "easy" after dropping `step` levels; easy is the last.

    ValueError for another intent, and at `HeatStep.STOP`, where no intent is left.
    """
    if intent not in INTENTS:
        raise ValueError(f"Unknown intent {intent!r}: use one of {', '.join(INTENTS)}.")
    if step >= HeatStep.STOP:
        raise ValueError("Too hot for a session: call it off or move it.")
    return INTENTS[min(INTENTS.index(intent) + step, len(INTENTS) - 1)]
