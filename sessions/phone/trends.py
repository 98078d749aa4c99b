"""Small drawings for phones: where the points of a line and the bars of a row lie. Pages draw them as inline SVG.

A drawing is WIDTH × HEIGHT units; y grows downwards, as in SVG.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sessions.progress.read import Done, ResultHistory, WeekLoad

WIDTH, HEIGHT = 320, 96
EDGE = 8  # room for a point at the rim
GAP = 0.3  # of a bar's place


@dataclass(frozen=True)
class Point:
    x: float
    y: float
    marked: bool


@dataclass(frozen=True)
class Bar:
    """A bar that stands on the lower rim; no height where there is no value."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Bars:
    """Bars from the first day to the last, and the height of a line to compare them with."""

    bars: list[Bar]
    level: float
    first: date
    last: date


def of_history(history: ResultHistory) -> list[Point]:
    """The efforts of a benchmark over their days, better always higher; nothing to draw of a single one."""
    days = [mark.effort.performed_on.toordinal() for mark in history.marks]
    if len(days) < 2:
        return []
    return line(days, [mark.worth for mark in history.marks], [mark.best for mark in history.marks])


def of_done(done: list[Done]) -> Bars | None:
    """The share done of each session of which a station was logged, against all of it."""
    logged = [one for one in done if one.share is not None]
    if not logged:
        return None
    shares = [one.share for one in logged]
    top = max(1.2, *shares)
    return Bars(bars(shares, top), level(1.0, top), logged[0].date, logged[-1].date)


def of_loads(weeks: list[WeekLoad]) -> Bars | None:
    """The load of each week, against their mean over the weeks that have one."""
    loads = [week.load for week in weeks if week.load is not None]
    top = max(loads, default=0)
    if not top:
        return None
    mean = sum(loads) / len(loads)
    return Bars(bars([week.load for week in weeks], top), level(mean, top), weeks[0].monday, weeks[-1].monday)


def line(at: Sequence[float], values: Sequence[float], marked: Sequence[bool]) -> list[Point]:
    """Points of n values over n places `at`; equal values lie halfway up."""
    across, up = _spread(at, EDGE, WIDTH - EDGE), _spread(values, HEIGHT - EDGE, EDGE)
    return [Point(x, y, mark) for x, y, mark in zip(across, up, marked, strict=True)]


def bars(values: Sequence[float | None], top: float) -> list[Bar]:
    """A bar for each value; `top` reaches the upper edge, and what is higher is cut there."""
    place = WIDTH / max(len(values), 1)
    tall = [min((value or 0) / top, 1) * (HEIGHT - EDGE) if top > 0 else 0 for value in values]
    return [
        Bar(round(n * place + place * GAP / 2, 1), round(HEIGHT - h, 1), round(place * (1 - GAP), 1), round(h, 1))
        for n, h in enumerate(tall)
    ]


def level(value: float, top: float) -> float:
    """The height at which a value lies beside `bars` of the same `top`."""
    return round(HEIGHT - min(value / top, 1) * (HEIGHT - EDGE), 1)


def _spread(values: Sequence[float], start: float, end: float) -> list[float]:
    low, high = min(values, default=0), max(values, default=0)
    if low == high:
        return [round((start + end) / 2, 1)] * len(values)
    return [round(start + (value - low) / (high - low) * (end - start), 1) for value in values]
