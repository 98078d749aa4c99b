"""What a coach asks first of an athlete: fitter, doing what is asked, what next. And the year in one picture."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from athletes.models.movement import Engine
from athletes.people.curves import Curve
from athletes.words import day, number, percent
from sessions.progress.read import Done, ResultHistory
from sessions.weeks.read import monday_of

TWO_MINUTES_S = 120.0  # the length of effort by which a curve is judged: between a sprint and an hour (ours)
MORE = 0.02  # of the power: as much as a good and a bad day differ (ours)
WEEKS = 4  # looked at for what was asked
AS_ASKED, MOSTLY = 0.95, 0.80  # shares of what was asked (ours)
MOST_GOALS = 2
CELL = 14  # of the picture, in its own units
HALF = 27  # weeks
LEVELS = (1.0, 150.0, 300.0, 450.0)  # session load from which on a day is drawn darker (ours)


@dataclass(frozen=True)
class Answer:
    """A question of a coach, the answer in a word or two, and what it rests on."""

    question: str
    answer: str
    why: list[str]


@dataclass(frozen=True)
class YearDay:
    """A day of the year's picture: column and row, how dark it is (0 to 4), whether tested, with a best, and words."""

    column: int
    row: int
    level: int
    tested: bool
    best: bool
    words: str

    @property
    def x(self) -> int:
        return CELL * self.column

    @property
    def y(self) -> int:
        return CELL * (1 + self.row)  # below the names of the months

    @property
    def middle(self) -> int:
        return self.x + 6

    @property
    def centre(self) -> int:
        return self.y + 6


@dataclass(frozen=True)
class HalfYear:
    """27 columns of the year's picture at most, and the months that begin in them: where, and their names."""

    days: list[YearDay]
    months: list[tuple[int, str]]


def answers(
    found: list[ResultHistory],
    curves: Mapping[str, tuple[Curve, Curve | None]],
    done: list[Done],
    caution: str,
    next_up: list[str],
    then: date,
    today: date,
) -> list[Answer]:
    """The three answers; `curves` hold those of today and of the day `then`, by engine, `caution` and `next_up` are as
    `report.goals` has them. Who must not go all out is shown no goal. Where both are empty nobody asks what is next. No
    query."""
    ahead = Answer("What next?", "", next_up[:MOST_GOALS])
    if caution:
        ahead = Answer("What next?", "No tests for now", [f"{caution[:1].upper()}{caution[1:]}."])
    return [_fitter(found, curves, then), _asked(done, today), *([ahead] if caution or next_up else [])]


def _fitter(found: list[ResultHistory], curves: Mapping[str, tuple[Curve, Curve | None]], then: date) -> Answer:
    """By what was tested before that day and again since: without a test nobody is known to be fitter or less fit."""
    question = f"Fitter than on {day(then)}?"
    again = [h for h in found if h.marks[0].effort.performed_on <= then < h.marks[-1].effort.performed_on]
    if not found or not any(h.marks[-1].effort.performed_on > then for h in found):
        return Answer(question, "Not known", ["Not tested since." if found else "Never tested."])
    since = {h.benchmark.movement.engine for h in found if h.marks[-1].effort.performed_on > then}
    changes = {
        engine: float(now.at(np.array([TWO_MINUTES_S]))[0][0] / before.at(np.array([TWO_MINUTES_S]))[0][0] - 1.0)
        for engine, (now, before) in curves.items()
        if before and engine in since
    }
    new = [history for history in found if any(m.best and m.effort.performed_on > then for m in history.marks[1:])]
    bests = f"{len(new)} personal best{'' if len(new) == 1 else 's'} since" if new else "no personal best since"
    if not changes:
        if not again:
            return Answer(question, "Not known", [f"Nothing was tested both before and since; {bests}."])
        better = sum(history in again for history in new)
        verdict = "Yes" if 2 * better >= len(again) else "In part" if better else "About the same"
        said = f"{len(again)} benchmark{' was' if len(again) == 1 else 's were'} tested before and since; {bests}."
        return Answer(question, verdict, [said])
    mean = float(np.mean(list(changes.values())))
    less = "Mixed" if new else "Less fit"  # a curve may sink for want of fresh tests while single results rise
    verdict = "Yes" if mean >= MORE else less if mean <= -MORE else "About the same"
    each = ", ".join(f"{Engine(engine).label} {_signed(change)}" for engine, change in changes.items())
    return Answer(question, verdict, [f"{each[:1].upper()}{each[1:]} of power for two minutes; {bests}."])


def _signed(change: float) -> str:
    """In whole per cent: a curve is not known any better."""
    return f"{'+' if change >= 0.005 else '−' if change <= -0.005 else ''}{percent(abs(change))}"


def _asked(done: list[Done], today: date) -> Answer:
    recent = [one for one in done if one.date > today - timedelta(weeks=WEEKS)]
    shares, rated = [one.share for one in recent if one.share is not None], [d.rpe for d in recent if d.rpe is not None]
    question = "Doing what is asked?"
    if not shares:
        last = max((one.date for one in done), default=None)
        words = f"Last logged {day(last, today)}." if last else "Nothing logged yet."
        return Answer(question, "Not known", [f"Nothing logged in the last {WEEKS} weeks. {words}"])
    share = sum(shares) / len(shares)
    verdict = "Yes" if share >= AS_ASKED else "Mostly" if share >= MOSTLY else "Less than asked"
    rate = f", rated {number(sum(rated) / len(rated))} of 10" if rated else ""
    sessions = f"{len(recent)} session{'' if len(recent) == 1 else 's'} in {WEEKS} weeks"
    return Answer(question, verdict, [f"{percent(share)} of what was asked in {sessions}{rate}."])


def year(done: list[Done], found: list[ResultHistory], today: date) -> list[HalfYear]:
    """Every day from 52 weeks ago to today, by what was logged and tested, in two halves."""
    first = monday_of(today) - timedelta(weeks=52)
    loads: dict[date, float] = {}
    for one in done:
        loads[one.date] = loads.get(one.date, 0.0) + (one.load or LEVELS[0])
    marks = [mark for history in found for mark in history.marks]
    tested = {mark.effort.performed_on for mark in marks}
    bests = {mark.effort.performed_on for history in found for mark in history.marks[1:] if mark.best}
    halves = [HalfYear([], []), HalfYear([], [])]
    for n in range((today - first).days + 1):
        at = first + timedelta(days=n)
        load = loads.get(at, 0.0)
        said = [f"load {number(load, 0)}"] if load > LEVELS[0] else ["trained"] if load else []
        said += ["personal best"] if at in bests else ["tested"] if at in tested else []
        words = f"{day(at)}: {', '.join(said) or 'nothing logged'}"
        level = sum(load >= least for least in LEVELS)
        column, half = n // 7 % HALF, halves[n // 7 // HALF]
        half.days.append(YearDay(column, n % 7, level, at in tested, at in bests, words))
        if at.day == 1:
            half.months.append((CELL * column, f"{at:%b}"))
    return halves
