"""Numbers as people read them, the same on staff pages, boards, phones and paper. Knows neither Django nor models.

Functions named `…_parts` return a figure and its unit, which pages set in two sizes; the others return one text.
"""

import unicodedata
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache

from athletes.capacity.ergometer import pace_from_watts

POUND_KG = 0.45359237  # exact: international avoirdupois pound (1959)
MILE_M = 1609.344  # exact: international mile (1959)
MINUS = "−"
NOTHING = "–"  # stands where there is no number
# Letters that Unicode does not take apart into a letter and its mark.
WHOLE_LETTERS = str.maketrans({"ł": "l", "ø": "o", "đ": "d", "ı": "i", "æ": "ae", "œ": "oe"})


def rounded(value: float, decimals: int = 0) -> Decimal:
    """Half up on the digits a person would see: binary halves must not turn 59.95 into 59.9."""
    return Decimal(str(float(value))).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP)


@lru_cache(maxsize=50_000)  # a published week writes the same few doses and seconds ten thousand times
def number(value: float | None, decimals: int = 1) -> str:
    """At most `decimals` places and no zeros at the end: 62.5, 70, −3."""
    if value is None:
        return NOTHING
    digits = f"{rounded(value, decimals):f}"
    if "." in digits:
        digits = digits.rstrip("0").rstrip(".")
    return "0" if digits == "-0" else digits.replace("-", MINUS)


def clock(seconds: float | None, tenths: bool = True) -> str:
    """m:ss.t, with hours only when there are any; rounded before it is split, so 59.96 is 1:00.0."""
    if seconds is None:
        return NOTHING
    whole = rounded(abs(seconds), 1 if tenths else 0)
    minutes, rest = divmod(whole, 60)
    sign = MINUS if seconds < 0 and whole else ""
    second = f"{rest:04.1f}" if tenths else f"{int(rest):02d}"
    hours, minutes = divmod(int(minutes), 60)
    return f"{sign}{hours}:{minutes:02d}:{second}" if hours else f"{sign}{minutes}:{second}"


def percent(share: float | None, decimals: int = 0) -> str:
    """A share of one: 0.15 → 15 %."""
    return NOTHING if share is None else f"{number(share * 100, decimals)} %"


def pace(watts: float | None) -> str:
    """Pace of a rowing or ski ergometer, m:ss.t per 500 m, without its unit."""
    return NOTHING if watts is None or watts <= 0 else clock(float(pace_from_watts(watts)))


def run_pace(metres_per_second: float | None) -> str:
    """Pace of a run, m:ss.t per km, without its unit."""
    return NOTHING if metres_per_second is None or metres_per_second <= 0 else clock(1000 / metres_per_second)


def hold_parts(engine: str, hold: float | None) -> tuple[str, str]:
    """What to hold on an engine: `hold` is watts, in runs m/s. Fan bikes have no common metre, so they show watts."""
    if engine == "run":
        return run_pace(hold), "per km"
    if engine == "bike":
        return number(hold, 0), "W"
    return pace(hold), "per 500 m"


def hold_text(engine: str, hold: float | None) -> str:
    return " ".join(hold_parts(engine, hold))


def load_parts(load_kg: float | None, unit: str = "kg") -> tuple[str, str]:
    """A load in the athlete's own unit: to the quarter kilogram that plates allow, or to the pound."""
    if load_kg is None:
        return NOTHING, unit
    return (number(load_kg / POUND_KG, 0), "lb") if unit == "lb" else (number(load_kg, 2), "kg")


def load_text(load_kg: float | None, unit: str = "kg") -> str:
    return " ".join(load_parts(load_kg, unit))


def repetitions_word(count: float) -> str:
    return "repetition" if count == 1 else "repetitions"


PLATE_LB = 2.5  # loads that plates and bells in pounds make
ROUND_LB = 0.06  # how far a load kept in kilograms may be from that


def bar_unit(load_kg: float | None) -> str:
    """The unit in which a load is written on the bar or the bell: "lb" where it is round in pounds alone."""
    if load_kg is None or abs(4 * load_kg - round(4 * load_kg)) < 1e-6:
        return "kg"
    pounds = load_kg / POUND_KG
    return "lb" if abs(pounds - PLATE_LB * round(pounds / PLATE_LB)) < ROUND_LB else "kg"


def dose_parts(kind: str, dose: float, load_kg: float | None = None) -> tuple[str, str]:
    """A dose of a station by its kind (sessions.models.circuit.DoseKind); a load as it is written on the bar."""
    if kind == "load_repetitions":
        return number(dose, 0), f"× {load_text(load_kg, bar_unit(load_kg))}"
    words = {"kcal": "kcal", "metres": "m", "seconds": "s", "repetitions": repetitions_word(dose)}
    return number(dose, 0), words[kind]


def dose_text(kind: str, dose: float, load_kg: float | None = None) -> str:
    return " ".join(dose_parts(kind, dose, load_kg))


def result_parts(
    measure: str, value: float | None, repetitions: int | None = None, unit: str = "kg"
) -> tuple[str, str]:
    """A result by the measure of its benchmark (athletes.models.Benchmark.Measure)."""
    if value is None:
        return NOTHING, ""
    if measure in ("time_for_distance", "time_for_calories", "time_for_repetitions", "hold"):
        return clock(value), ""
    if measure == "lift":
        load, load_unit = load_parts(value, unit)
        return load, f"{load_unit} × {repetitions or 1}"
    words = {"distance_in_time": "m", "calories_in_time": "kcal"}
    return number(value, 1), words.get(measure) or repetitions_word(value)


def result_text(measure: str, value: float | None, repetitions: int | None = None, unit: str = "kg") -> str:
    return " ".join(result_parts(measure, value, repetitions, unit)).strip()


def day(of: date | None, today: date | None = None) -> str:
    """3 Nov 2026; with `today` given: today, yesterday, tomorrow, and 3 Nov within its year."""
    if of is None:
        return NOTHING
    near = {0: "today", -1: "yesterday", 1: "tomorrow"}.get((of - today).days) if today else None
    written = f"{of.day} {of:%b}"
    return near or (written if today and of.year == today.year else f"{written} {of.year}")


def ago(of: date | None, today: date) -> str:
    """How long ago a day was, as people say it: 5 days ago, 3 weeks ago, 14 months ago."""
    if of is None:
        return "never"
    days = (today - of).days
    if days < 2:
        return day(of, today)
    for least, size, word in ((730, 365, "years"), (60, 30.44, "months"), (14, 7, "weeks")):
        if days >= least:
            return f"{int(days / size)} {word} ago"
    return f"{days} days ago"


def name_order(name: str) -> str:
    """Sorts names where people look for them: Élise among the Es, whatever the database would say."""
    letters = unicodedata.normalize("NFD", name.casefold().translate(WHOLE_LETTERS))
    return "".join(letter for letter in letters if not unicodedata.combining(letter))
