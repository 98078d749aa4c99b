"""Dates as people write them. In which order 03/11/2025 is written is seen from all dates together, or asked."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from athletes.efforts.parsing import NotUnderstood


class Order(StrEnum):
    """How a date in numbers is written."""

    DAY = "day"
    MONTH = "month"
    YEAR = "year"


ORDER_WORDS = {Order.DAY: "day/month/year", Order.MONTH: "month/day/year", Order.YEAR: "year-month-day"}
MONTHS = {
    month: number
    for number, names in enumerate(
        ["jan january", "feb february", "mar march", "apr april", "may", "jun june", "jul july", "aug august",
         "sep sept september", "oct october", "nov november", "dec december"], start=1,
    )
    for month in names.split()
}  # fmt: skip
_TIME = r"(?:[ T,].*)?"  # of the day: left out
_IN_NUMBERS = re.compile(rf"^(\d{{1,2}})\s*([./-])\s*(\d{{1,2}})\s*[./-]\s*(\d{{4}}|\d{{2}}){_TIME}$")
_YEAR_FIRST = re.compile(rf"^(\d{{4}})[./-](\d{{1,2}})[./-](\d{{1,2}}){_TIME}$")
_DAY_MONTH = re.compile(r"^(?:[a-z]+,?\s+)?(\d{1,2})(?:st|nd|rd|th|\.)?[\s-]+([a-z]+)\.?,?[\s-]+(\d{4}|\d{2})$")
_MONTH_DAY = re.compile(r"^(?:[a-z]+,\s+)?([a-z]+)\.?\s+(\d{1,2})(?:st|nd|rd|th)?,?\s+(\d{4})$")
_SERIAL = re.compile(r"^(\d{5})(?:\.\d+)?$")  # a spreadsheet's own count of days, left without a format
DAY_ZERO = date(1899, 12, 30)
HOW = "Write dates like 2025-11-03 or 3 Nov 2025."


@dataclass(frozen=True)
class DateFormat:
    """How the dates of a file are written; `order` None with an `example`: their numbers do not tell, so ask.

    `evidence` is the date that settles it, because in the other order it would be none.
    """

    order: Order | None
    example: str = ""
    evidence: str = ""

    @property
    def open(self) -> bool:
        return self.order is None and bool(self.example)


def date_format(texts: Iterable[str]) -> DateFormat:
    """The order that all dates in numbers agree on. `example` is one that would be another day in the other order."""
    found = [match.groups() for match in map(_IN_NUMBERS.match, map(str.strip, texts)) if match]
    day_first = next((parts for parts in found if _only(parts[0], parts[2])), None)
    month_first = next((parts for parts in found if _only(parts[2], parts[0])), None)
    unequal = sorted(
        (parts for parts in found if parts[0] != parts[2]), key=lambda parts: int(parts[0]) > 12 or int(parts[2]) > 12
    )
    example = _written(unequal[0]) if unequal else ""
    if bool(day_first) != bool(month_first):
        return DateFormat(Order.DAY if day_first else Order.MONTH, example, _written(day_first or month_first))
    # With points between them dates begin with the day (common practice); with strokes or lines they do both.
    if found and not day_first and all(parts[1] == "." for parts in found):
        return DateFormat(Order.DAY, example)
    return DateFormat(None, example)


def read_day(text: str, order: Order | None, latest: date) -> date:
    """The day that `text` says. Two digits of a year are the last such year up to `latest`.

    Raises NotUnderstood, in words, for what is no date, and for numbers whose order is not known.
    """
    text = " ".join(text.split())
    plain = text.lower()
    if match := _YEAR_FIRST.match(text):
        return _date(text, *match.groups(), latest)
    if match := _IN_NUMBERS.match(text):
        first, _, second, year = match.groups()
        if order not in (Order.DAY, Order.MONTH):
            if int(first) <= 12 and int(second) <= 12 and first != second:
                raise NotUnderstood(f"“{text}” could be two days. Say whether the day or the month comes first.")
            order = Order.DAY if int(first) > 12 else Order.MONTH
        day, month = (first, second) if order == Order.DAY else (second, first)
        return _date(text, year, month, day, latest, order)
    if match := _DAY_MONTH.match(plain):
        day, month, year = match.groups()
        return _date(text, year, MONTHS.get(month, 0), day, latest)
    if match := _MONTH_DAY.match(plain):
        month, day, year = match.groups()
        return _date(text, year, MONTHS.get(month, 0), day, latest)
    if match := _SERIAL.match(plain):
        return DAY_ZERO + timedelta(days=int(match[1]))
    raise NotUnderstood(f"“{text}” is no date. {HOW}")


def why(order: Order | None, evidence: str) -> str:
    """“10/30/2026 can only be month/day.” Nothing where no date settles the order."""
    return f"{evidence} can only be {ORDER_WORDS[order].removesuffix('/year')}." if order and evidence else ""


def _only(day: str, month: str) -> bool:
    """Whether these numbers are a day and a month in no other order."""
    return 12 < int(day) <= 31 and 1 <= int(month) <= 12


def _written(parts: tuple[str, ...]) -> str:
    return "{0}{1}{2}{1}{3}".format(*parts)


def _date(text: str, year, month, day, latest: date, order: Order | None = None) -> date:
    year = int(year)
    if year < 100:
        year += 2000 if year + 2000 <= latest.year else 1900
    try:
        return date(year, int(month), int(day))
    except ValueError:
        way = f" when read as {ORDER_WORDS[order]}" if order else ""
        raise NotUnderstood(f"“{text}” is no date{way}. {HOW}") from None
