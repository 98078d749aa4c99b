"""What the page of an athlete's progress shows: charts with their tables."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from athletes.models import Athlete
from athletes.models.movement import Engine
from athletes.people.curves import Curve, CurveEffort, curves_of
from athletes.people.past import curves_on
from athletes.words import clock, day, number, percent
from sessions.progress import charts, charts_progress
from sessions.progress.panels import Panel
from sessions.progress.read import Done, ResultHistory
from sessions.progress.training import WEEKS, TrainingWeek, training_weeks
from sessions.weeks.read import monday_of

TABLE_S = (10, 30, 60, 120, 300, 600, 1200, 1800)
NO_CURVE = "No curve yet: it begins with one effort on an ergometer, a bike or a run."
NO_LOG = "No session logged in these weeks. Athletes log on their phone after a session, staff on the floor sheet."


def curves_then_and_now(athlete: Athlete, then: date, today: date) -> dict[str, tuple[Curve, Curve | None]]:
    """The curves of each tested engine, today with the efforts on it, and on the day `then`; both by the same rule."""
    before, now = curves_on(athlete, then), curves_on(athlete, today)
    efforts = {engine: curve.efforts for engine, curve in curves_of(athlete, today).items()}
    return {
        engine: (replace(curve, efforts=efforts[engine]), before.get(engine))
        for engine, curve in now.items()
        if engine in efforts
    }


def curves_compared(
    athlete: Athlete, found: list[ResultHistory], then: date, today: date
) -> dict[str, tuple[Curve, Curve]]:
    """The curves of each engine tested by the day `then`, today and on that day; they carry no efforts. No query where
    nothing was tested by then."""
    if not any(h.benchmark.movement.engine and h.marks[0].effort.performed_on <= then for h in found):
        return {}
    now = curves_on(athlete, today)
    return {engine: (now[engine], before) for engine, before in curves_on(athlete, then).items()}


def curve_panels(athlete: Athlete, curves: dict[str, tuple[Curve, Curve | None]], then: date) -> list[Panel]:
    return [_curve_panel(athlete, now, before, then) for now, before in curves.values()]


def training_panels(athlete: Athlete, done_in_a_year: list[Done], today: date) -> list[Panel]:
    """What was done of what was asked, and the load of the weeks, over half a year."""
    first = monday_of(today) - timedelta(weeks=WEEKS - 1)
    done = [one for one in done_in_a_year if one.date >= first]
    return [_done_panel(athlete, done), _load_panel(athlete, training_weeks(athlete, done, first, today, today))]


def _curve_panel(athlete: Athlete, now: Curve, before: Curve | None, then: date) -> Panel:
    engine, title = now.engine, Engine(now.engine).label.capitalize()
    lengths = [effort.duration_s for effort in now.efforts]
    duration_s = charts.durations(lengths)
    best, low, high = now.at(duration_s)
    figure = charts.power_duration(
        engine=engine, duration_s=duration_s, best=best, low=low, high=high, effort_duration_s=lengths,
        effort_power=[effort.power for effort in now.efforts],
        effort_fresh=[effort.fresh for effort in now.efforts],
        effort_words=[_effort_words(engine, effort) for effort in now.efforts],
    )  # fmt: skip
    if before:
        figure = charts_progress.with_earlier(figure, duration_s, *before.at(duration_s), f"on {day(then)}")
    missing = f"No effort on this engine by {day(then)}, so there is no curve of that day to compare with."
    return Panel(
        key=f"curve-{engine}",
        title=f"Power and duration: {title}",
        label=f"Best even power against duration, {title}, today and on {day(then)}.",
        head=["Duration", "Best today", "68 % likely range", f"Best on {day(then)}", "68 % likely range", "Change"],
        rows=list(_curve_rows(now, before)),
        empty=NO_CURVE,
        file=f"{athlete.board_name}-{engine}-power-duration",
        figure=figure,
        notes=[] if before else [missing],
    )


def _effort_words(engine: str, effort: CurveEffort) -> str:
    return f"{effort.benchmark}, {day(effort.performed_on)}: {charts.power_words(engine, effort.power)}"


def _curve_rows(now: Curve, before: Curve | None) -> Iterator[list[str]]:
    """Words of both curves over `TABLE_S`; a change is one of power, in runs of speed."""
    today = np.array(now.at(np.array(TABLE_S, float))).T
    earlier = np.array(before.at(np.array(TABLE_S, float))).T if before else [None] * len(TABLE_S)
    for seconds, own, old in zip(TABLE_S, today, earlier, strict=True):
        words = [*_power(now.engine, own), *(["–", "–", "–"] if old is None else _power(now.engine, old))]
        change = [] if old is None else [_change(own[0] / old[0] - 1)]
        yield [clock(seconds, tenths=False), *words, *change]


def _power(engine: str, ends: np.ndarray) -> list[str]:
    best, low, high = ends.tolist()
    return [charts.power_words(engine, best), charts.range_words(engine, low, high)]


def _change(share: float) -> str:
    return f"{'+' if share >= 0.0005 else ''}{percent(share, 1)}"


def _done_panel(athlete: Athlete, done: list[Done]) -> Panel:
    shown = [one for one in done if one.share is not None]
    words = [f"{day(one.date)}, {one.name}: {percent(one.share)} of what was asked" for one in shown]
    figure = charts_progress.bars(
        names=[f"{day(one.date)}{' ' * n}" for one, n in zip(shown, _again(shown), strict=True)],
        values=[100 * one.share for one in shown], words=words, unit="% of the targets", level=100,
        level_name="as asked",
    )  # fmt: skip
    return Panel(
        key="done",
        title="Targets and what was done",
        label="Share of the targets done, session by session.",
        head=["Day", "Session", "Done of what was asked", "RPE"],
        rows=[[day(d.date), d.name, percent(d.share), number(d.rpe)] for d in reversed(done)],
        empty=NO_LOG,
        file=f"{athlete.board_name}-targets-and-done",
        figure=figure if shown else None,
        notes=["Rounds × dose as logged, over rounds × target; all stations of a session count alike."],
    )


def _again(done: list[Done]) -> list[int]:
    """How many sessions of the same day came before each: two on one day are two bars."""
    return [sum(other.date == one.date for other in done[:n]) for n, one in enumerate(done)]


def _load_panel(athlete: Athlete, weeks: list[TrainingWeek]) -> Panel:
    known = [week for week in weeks if week.sessions]
    words = [f"week of {day(w.monday)}: {number(w.load, 0)}, {w.sessions} logged" for w in weeks]
    figure = charts_progress.bars(
        names=[day(week.monday) for week in weeks], values=[week.load for week in weeks], words=words,
        unit="RPE × minutes",
    )  # fmt: skip
    return Panel(
        key="load",
        title="Load by week",
        label="Session load of each week, RPE times minutes.",
        head=["Week of", "Sessions logged", "Load (RPE × minutes)", "Days not known", "Monotony", "Strain"],
        rows=[_load_row(week) for week in reversed(weeks)] if known else [],
        empty=NO_LOG,
        file=f"{athlete.board_name}-load",
        figure=figure if known else None,
        notes=LOAD_NOTES,
    )


def _load_row(week: TrainingWeek) -> list[str]:
    spread = [number(week.monotony, 2), number(week.strain, 0)]
    if week.monotony is None:
        spread = ["not defined", "not defined"] if not week.unknown else ["–", "–"]
    return [day(week.monday), str(week.sessions), number(week.load, 0), str(week.unknown), *spread]


LOAD_NOTES = [
    "Load: RPE (0 to 10) × minutes of the circuit with its rests, arbitrary units (Foster et al. 2001). Warm-up is not "
    "counted, because nobody logs it.",
    "Monotony: mean over SD (n − 1) of the seven daily loads; strain: load of the week × monotony (Foster 1998). Shown "
    "only where all seven days are known: a day without a log is not a day of rest, unless nothing was on or the gym "
    "kept who came. Equal days have no SD, so none is defined. Both describe what was done and foretell no injury.",
]
