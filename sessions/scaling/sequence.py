"""A coach's sequence: legs on engines one after the other, for time (say 800 m run and 750 m row, four times)."""

from dataclasses import dataclass
from numbers import Integral

from athletes.capacity.constants import ENGINES, KCAL_BASE_PER_H, KCAL_SLOPE_PER_W_H
from sessions.scaling.constants import DEFAULT_HEADROOM, HEADROOM_BOUNDS

# What a sequence may be (ours)
MOST_LEGS = 60  # in all, repeats counted
TIMES_BOUNDS = (1, 40)
REST_BOUNDS_S = (0.0, 1800.0)
AMOUNT_BOUNDS = {"metres": (10.0, 42_195.0), "kcal": (1.0, 2000.0), "seconds": (5.0, 7200.0)}
LEG_KINDS = tuple(AMOUNT_BOUNDS)

_AMOUNT_WORDS = {
    "metres": ("The distance", "metres"),
    "kcal": ("The dose", "calories"),
    "seconds": ("The time", "seconds"),
}


@dataclass(frozen=True)
class Leg:
    """One piece of work: an `amount` in the unit of `kind` on an engine, and the rest [s] after it.

    `kcal_base` [kcal/h] and `kcal_slope` [kcal/h per W] belong to the machine's monitor.
    """

    engine: str
    kind: str
    amount: float
    rest_s: float = 0.0
    kcal_base: float = KCAL_BASE_PER_H
    kcal_slope: float = KCAL_SLOPE_PER_W_H


@dataclass(frozen=True)
class Sequence:
    """Legs in order, all of them repeated so many `times`; the rest after the very last one is nobody's.

    `headroom` is the share of the capacity that the coach wants left at the end.
    """

    legs: tuple[Leg, ...]
    times: int = 1
    headroom: float = DEFAULT_HEADROOM

    def validate(self) -> None:
        """Raise ValueError, with a sentence that says what to change, when the sequence cannot be paced."""
        _require(len(self.legs) > 0, "Add a leg: the sequence has none.")
        _within(self.times, TIMES_BOUNDS, "The number of repeats", "")
        _require(isinstance(self.times, Integral), "Repeats come in whole numbers.")
        _within(self.headroom, HEADROOM_BOUNDS, "The headroom", "")
        count = len(self.legs) * self.times
        _require(count <= MOST_LEGS, f"That makes {count} legs, and {MOST_LEGS} is the most: repeat them less often.")
        for number, leg in enumerate(self.legs, start=1):
            try:
                _validate_leg(leg)
            except ValueError as error:
                raise ValueError(f"Leg {number}: {error}") from None


def _validate_leg(leg: Leg) -> None:
    _require(leg.engine in ENGINES, f"Choose an engine: {', '.join(ENGINES)}.")
    _require(leg.kind in LEG_KINDS, "Give it in metres, in calories or as a time.")
    _require((leg.engine, leg.kind) != ("run", "kcal"), "Give a run in metres or as a time, not in calories.")
    _require(
        (leg.engine, leg.kind) != ("bike", "metres"),
        "Give the bike in calories or as a time; bikes do not share one measure of metres.",
    )
    name, unit = _AMOUNT_WORDS[leg.kind]
    _within(leg.amount, AMOUNT_BOUNDS[leg.kind], name, unit)
    _within(leg.rest_s, REST_BOUNDS_S, "The rest after it", "seconds")
    _require(leg.kcal_base >= 0 and leg.kcal_slope > 0, "The machine's calorie formula is not usable.")


def _within(value: float, bounds: tuple[float, float], name: str, unit: str) -> None:
    low, high = bounds
    _require(low <= value <= high, f"{name} must be between {low:g} and {high:g} {unit}".rstrip() + ".")


def _require(condition: bool, sentence: str) -> None:
    if not condition:
        raise ValueError(sentence)
