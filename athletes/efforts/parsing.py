"""What staff type → numbers:

    7:42.3          a time                     1:02:03.4      hours too; 7m42s, 7'42
    1:52.4/500      a pace, per 500 m          4:10/km        a running pace
    12 in 0:40      an amount in a time        12/0:40, 12 in 40s, 12 kcal in 0:40
    2000 in 7:42.3  metres in a time           2000 m in 7:42.3
    85x5            a load times repetitions   85 kg x 5, 187 lb x 5, 5 x 85 kg
    23              an amount; 110 kg, 45s

Knows nothing of athletes or benchmarks; see `write` for what it is used for.
"""

import re
from dataclasses import dataclass

from athletes.words import POUND_KG

LONGEST = 60  # characters; the longest result that makes sense is shorter
TOO_LONG = f"That is longer than any result: at most {LONGEST} characters. Type it like 7:42.3, 12 in 0:40 or 85x5."


class NotUnderstood(ValueError):
    """What was typed has no reading; the message says what to type instead."""


@dataclass(frozen=True)
class Reading:
    """What a typed text says; a field is None when the text does not say it."""

    seconds: float | None = None
    amount: float | None = None
    unit: str = ""
    pace_s: float | None = None
    pace_metres: float | None = None
    load_kg: float | None = None
    repetitions: int | None = None


_TIME = r"(?:(?:(\d+):)?(\d{1,3}):(\d{2}(?:\.\d+)?)|(\d+(?:\.\d+)?)\s*(?:s|sec|seconds)\b)"
_NUMBER = r"(\d+(?:\.\d+)?)"
_UNITS = {"kcal": "kcal", "cal": "kcal", "cals": "kcal", "calories": "kcal", "m": "m", "metres": "m", "meters": "m"}
_UNITS |= {"reps": "repetitions", "rep": "repetitions", "repetitions": "repetitions", "km": "km", "": ""}
_UNIT = r"\s*(kcal|calories|cals|cal|metres|meters|km|m|repetitions|reps|rep)?"
_TIME_ONLY = re.compile(rf"^{_TIME}$")
_PACE = re.compile(rf"^{_TIME}\s*(?:/|per)\s*(500|km|1000)\s*(?:m)?$")
_AMOUNT_IN_TIME = re.compile(rf"^{_NUMBER}{_UNIT}\s*(?:in|/|@)\s*{_TIME}$")
_LOAD = re.compile(rf"^{_NUMBER}\s*(kg|lb|lbs)?\s*(?:x|\*|×)\s*(\d+)$")
_LOAD_BEHIND = re.compile(rf"^(\d+)\s*(?:x|\*|×)\s*{_NUMBER}\s*(kg|lbs|lb)$")  # only a unit says which is the load
_SPOKEN = re.compile(
    r"^(\d{1,3})\s*(?:(?:m|mins?)\s*(\d{1,2}(?:\.\d+)?)\s*s(?:ecs?)?|['’′]\s*(\d{1,2}(?:\.\d+)?)\s*(?:\"|”|″|''|s)?)$"
)
_LOAD_ONLY = re.compile(rf"^{_NUMBER}\s*(kg|lbs|lb)$")
_AMOUNT = re.compile(rf"^{_NUMBER}{_UNIT}$")
# What is written in place of a result by who has none.
NO_NUMBER = {
    "stopped": ("stopped", "dnf", "did not finish", "gave up", "failed"),
    "injured": ("injured", "hurt"),
    "could not do it": ("could not", "couldn't", "couldn’t", "cannot", "can't", "can’t", "unable"),
}
_NO_NUMBER = {why: re.compile(rf"^(?:{'|'.join(words)})\b") for why, words in NO_NUMBER.items()}
_PLAIN_LOAD = re.compile(r"^(\d+(?:[.,]\d+)?)\s*(?:(?:x|\*|×)\s*(\d+))?$")


def read(typed: str) -> Reading:
    """The reading of `typed`; raises NotUnderstood with a sentence that shows the accepted ways."""
    text = " ".join(typed.strip().lower().split())
    if len(text) > LONGEST:
        raise NotUnderstood(TOO_LONG)
    text = re.sub(r"(?<=\d),(?=\d)", ".", text)  # decimal comma
    if not text:
        raise NotUnderstood("Nothing is typed. Type a result such as 7:42.3, 12 in 0:40 or 85x5.")
    if why := next((why for why, words in _NO_NUMBER.items() if words.match(text)), ""):
        raise NotUnderstood(f"No number: {why}. Nothing is kept of it.")
    if match := _SPOKEN.match(text):
        minutes, seconds, behind = match.groups()
        whole, _, rest = (seconds or behind).partition(".")
        text = f"{minutes}:{whole:0>2}" + (f".{rest}" if rest else "")
    if match := _TIME_ONLY.match(text):
        return Reading(seconds=_seconds(match.groups()))
    if match := _PACE.match(text):
        *time, per = match.groups()
        return Reading(pace_s=_seconds(time), pace_metres=500.0 if per == "500" else 1000.0)
    if match := _AMOUNT_IN_TIME.match(text):
        amount, unit, *time = match.groups()
        return _amount(amount, unit, seconds=_seconds(time))
    if match := _LOAD.match(text):
        load, unit, repetitions = match.groups()
        return Reading(load_kg=_kilograms(load, unit or "kg"), repetitions=int(repetitions))
    if match := _LOAD_BEHIND.match(text):
        repetitions, load, unit = match.groups()
        return Reading(load_kg=_kilograms(load, unit), repetitions=int(repetitions))
    if match := _LOAD_ONLY.match(text):
        return Reading(load_kg=_kilograms(*match.groups()), repetitions=1)
    if match := _AMOUNT.match(text):
        return _amount(*match.groups())
    raise NotUnderstood(
        f"“{typed.strip()}” is not understood. Type a time (7:42.3), a pace (1:52.4/500), "
        "an amount in a time (12 in 0:40), a load (85x5) or a number (23)."
    )


def with_unit(typed: str, unit: str) -> str:
    """A lift as it was meant: a load without a unit in this one, and without repetitions lifted once. What says its
    unit, or is no load, stays as it is."""
    match = _PLAIN_LOAD.match(" ".join(typed.lower().split()))
    return f"{match[1]} {unit} x {match[2] or 1}" if match else typed.strip()


def _seconds(groups) -> float:
    hours, minutes, seconds, plain = groups
    if plain is not None:
        return float(plain)
    if float(seconds) >= 60:
        raise NotUnderstood(f"A minute has 60 seconds: “{minutes}:{seconds}” cannot be right. Type it like 7:42.3.")
    return int(hours or 0) * 3600 + int(minutes) * 60 + float(seconds)


def _kilograms(load: str, unit: str) -> float:
    return float(load) * (POUND_KG if unit in ("lb", "lbs") else 1.0)


def _amount(amount: str, unit: str | None, seconds: float | None = None) -> Reading:
    unit = _UNITS[unit or ""]
    value = float(amount) * (1000 if unit == "km" else 1)
    return Reading(amount=value, unit="m" if unit == "km" else unit, seconds=seconds)


@dataclass(frozen=True)
class Result:
    """A result in a benchmark's own terms: `value` in its unit, and the repetitions of a lift."""

    value: float
    repetitions: int | None = None


def result(reading: Reading, measure: str, fixed: float | None) -> Result:
    """What `reading` says for a benchmark of this measure, `fixed` in metres, seconds or kcal.

    Raises NotUnderstood, with what to type instead, when the reading does not fit the measure.
    """
    return _RESULTS[measure](reading, fixed)


def _time_for(reading: Reading, fixed: float, unit: str) -> Result:
    _same_fixed(reading.amount if reading.seconds is not None else None, fixed, unit)
    if reading.seconds is not None:
        return Result(reading.seconds)
    if reading.pace_s is not None and unit == "m":
        return Result(reading.pace_s * fixed / reading.pace_metres)
    if reading.amount is not None and not reading.unit and reading.amount < 100:
        return Result(reading.amount)  # "38.4": seconds of a sprint
    pace = ", or a pace like 1:55.6/500" if unit == "m" else ""
    raise NotUnderstood(f"This test is timed. Type the time for {fixed:g} {unit} like 7:42.3{pace}.")


def _amount_in(reading: Reading, fixed: float, unit: str) -> Result:
    _same_fixed(reading.seconds if reading.amount is not None else None, fixed, "s")
    if reading.amount is not None and reading.unit in ("", unit):
        return Result(reading.amount)
    if reading.pace_s and unit == "m":
        return Result(fixed / reading.pace_s * reading.pace_metres)
    example = {"kcal": "12", "repetitions": "23"}.get(unit, "1480")
    raise NotUnderstood(f"This test counts {unit} in {fixed:g} s. Type the number, like {example}.")


def _repetitions(reading: Reading, fixed: None) -> Result:
    whole = reading.amount is not None and reading.amount == int(reading.amount)
    if not whole or reading.unit not in ("", "repetitions") or reading.seconds is not None:
        raise NotUnderstood("This test counts unbroken repetitions. Type a whole number, like 23.")
    return Result(reading.amount)


def _hold(reading: Reading, fixed: None) -> Result:
    if reading.seconds is not None and reading.amount is None:
        return Result(reading.seconds)
    if reading.amount is not None and not reading.unit and reading.seconds is None:
        return Result(reading.amount)
    raise NotUnderstood("This test times a hold. Type the time, like 1:15 or 75.")


def _lift(reading: Reading, fixed: None) -> Result:
    if reading.load_kg is None:
        raise NotUnderstood("This test is a lift. Type load and repetitions, like 85x5 (or 187 lb x 5).")
    if reading.repetitions < 1:
        raise NotUnderstood("A lift has at least one repetition. Type it like 85x5.")
    return Result(reading.load_kg, reading.repetitions)


def _same_fixed(said: float | None, fixed: float, unit: str) -> None:
    if said is not None and abs(said - fixed) > 0.5:
        raise NotUnderstood(
            f"This test is fixed at {fixed:g} {unit}, but {said:g} is typed. Choose the benchmark for {said:g} {unit}."
        )


_RESULTS = {
    "time_for_distance": lambda reading, fixed: _time_for(reading, fixed, "m"),
    "time_for_calories": lambda reading, fixed: _time_for(reading, fixed, "kcal"),
    "distance_in_time": lambda reading, fixed: _amount_in(reading, fixed, "m"),
    "calories_in_time": lambda reading, fixed: _amount_in(reading, fixed, "kcal"),
    "repetitions": _repetitions,
    "repetitions_in_time": lambda reading, fixed: _amount_in(reading, fixed, "repetitions"),
    "time_for_repetitions": lambda reading, fixed: _time_for(reading, fixed, "repetitions"),
    "hold": _hold,
    "lift": _lift,
}
