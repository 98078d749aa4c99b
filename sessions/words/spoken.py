"""Numbers as a screen reader should say them: "1:48.0" and "kcal" are read letter by letter otherwise.

Takes the parts that `athletes.words` makes for the eye, so that both always say the same number.
"""

import re
from functools import lru_cache

ONES = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"]
ONES += ["thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
CLOCK = re.compile(r"(?:(?P<h>\d+):(?=\d+:))?(?P<m>\d+):(?P<s>\d{2})(?:\.(?P<t>\d+))?")
UNITS = {
    "per 500 m": "per five hundred metres",
    "per km": "per kilometre",
    "kcal": "calories",
    "kcal/h": "calories an hour",
    "m": "metres",
    "s": "seconds",
    "W": "watts",
    "kg": "kilograms",
    "lb": "pounds",
}
LOAD = re.compile(r"× ([\d.]+) (kg|lb)")  # the unit of a dose: repetitions with a load
LIFT = re.compile(r"(kg|lb) × (\d+)")  # the unit of a lift: a load for repetitions
AMOUNT = re.compile(r"([\d.]+) (kcal/h|W)\b")


@lru_cache(maxsize=20_000)
def said(figure: str, unit: str = "") -> str:
    """A figure and its unit in words: ("1:48.0", "per 500 m") → one minute forty-eight point zero per five hundred
    metres; ("12", "kcal") → 12 calories; ("10", "× 24 kg") → 10 repetitions with 24 kilograms."""
    if load := LOAD.fullmatch(unit):
        return f"{figure} {_one_or_more('repetitions', figure)} with {load[1]} {UNITS[load[2]]}"
    if lift := LIFT.fullmatch(unit):
        return f"{figure} {UNITS[lift[1]]}, {lift[2]} {_one_or_more('repetitions', lift[2])}"
    clock = CLOCK.fullmatch(figure)
    spoken = _clock(clock, full=not unit.startswith("per ")) if clock else figure
    return f"{spoken} {_one_or_more(UNITS.get(unit, unit), figure)}".strip()


@lru_cache(maxsize=20_000)
def said_amounts(text: str) -> str:
    """A line of several amounts: 1256 kcal/h · 278 W → 1256 calories an hour, 278 watts."""
    return AMOUNT.sub(lambda found: f"{found[1]} {UNITS[found[2]]}", text).replace(" · ", ", ")


def words(count: int) -> str:
    """0 to 99 in words."""
    if count < 20:
        return ONES[count]
    tens, ones = divmod(count, 10)
    return TENS[tens - 2] + (f"-{ONES[ones]}" if ones else "")


def _clock(found: re.Match, full: bool) -> str:
    """`full` names the seconds; a pace goes on with what it is per."""
    hours, minutes, seconds = int(found["h"] or 0), int(found["m"]), int(found["s"])
    parts = [_count(hours, "hour")] if hours else []
    parts += [_count(minutes, "minute")] if minutes else []
    rest = words(seconds) + (f" point {' '.join(ONES[int(digit)] for digit in found['t'])}" if found["t"] else "")
    return " ".join([*parts, rest, *(["seconds"] if full else [])])


def _count(number: int, word: str) -> str:
    many = words(number) if number < 100 else str(number)
    return f"{many} {word}" if number == 1 else f"{many} {word}s"


def _one_or_more(unit: str, figure: str) -> str:
    one = figure == "1" and unit in ("calories", "metres", "seconds", "watts", "kilograms", "pounds", "repetitions")
    return unit[:-1] if one else unit
