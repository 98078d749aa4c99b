"""An athlete's benchmarks: every result over the years, personal bests, and what is expected today."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from athletes.benchmarks.library import references_of
from athletes.capacity.best import INTERVAL_SHARE, interval
from athletes.capacity.firmness import firmness
from athletes.capacity.strength import one_rep_max
from athletes.efforts.expectations import expected, of_people
from athletes.estimates.people import People
from athletes.models import Athlete, Benchmark
from athletes.words import POUND_KG, day, number, result_parts, result_text
from sessions.progress import charts_progress
from sessions.progress.panels import Panel
from sessions.progress.read import Mark, ResultHistory

NO_EFFORT = "No effort yet. Results and what is expected appear with the first one."
SHARE = f"{round(10 * INTERVAL_SHARE)} of 10"


@dataclass(frozen=True)
class Prediction:
    """What an athlete may be expected to do today, in the benchmark's unit (a lift: once), with its 80 % interval."""

    value: float
    low: float
    high: float
    firmness: str


def benchmark_panels(
    athlete: Athlete,
    found: list[ResultHistory],
    predictions: dict[int, Prediction],
    chosen: Benchmark | None,
    today: date,
) -> list[Panel]:
    """All benchmarks as a table, and one of them as a chart: the chosen one, else the one with most results. `found`
    are the athlete's histories, `predictions` those of their benchmarks (`predicted`)."""
    table = _table(athlete, found, predictions)
    if not found:
        return [table]
    own = next((h for h in found if chosen and h.benchmark.pk == chosen.pk), None)
    shown = own or max(found, key=lambda history: len(history.marks))
    return [table, _chart(athlete, shown, predictions[shown.benchmark.pk], today)]


def predicted(people: People, benchmarks: list[Benchmark]) -> dict[int, Prediction]:
    """By benchmark, of the one athlete in `people`; the interval has the noise of a trial in it. No query."""
    found = {}
    for benchmark in benchmarks:
        likely = expected(benchmark, *of_people(benchmark, people))
        low, high = interval(likely.value, likely.sd_log)
        ends = (float(np.squeeze(value)) for value in (likely.value, low, high))
        found[benchmark.pk] = Prediction(*ends, str(firmness(float(np.squeeze(likely.sd_log)))))
    return found


def words_of(benchmark: Benchmark, value: float, unit: str) -> str:
    """A prediction as a result, in whole numbers but for times; a lift as what can be done once."""
    return result_text(benchmark.measure, _whole(benchmark, value), 1, unit)


def range_of(benchmark: Benchmark, low: float, high: float, unit: str) -> str:
    """Two results with their unit said once."""
    (first, _), (second, of) = (result_parts(benchmark.measure, _whole(benchmark, end), 1, unit) for end in (low, high))
    return f"{first} to {second} {of}".rstrip()


def _whole(benchmark: Benchmark, value: float) -> float:
    return value if benchmark.value_unit == "s" else round(value)


def _table(athlete: Athlete, found: list[ResultHistory], predictions: dict[int, Prediction]) -> Panel:
    return Panel(
        key="benchmarks",
        title="Benchmarks",
        label="",
        head=["Benchmark", "Personal best", "On", "Latest", "On", "Expected today", f"In {SHARE} cases", "Firmness"],
        rows=[_row(athlete, history, predictions[history.benchmark.pk]) for history in found],
        empty=NO_EFFORT,
        file="",
        notes=[
            "Expected today: an estimate from all efforts and what sessions measured, an old one counting less. "
            f"{SHARE} results should fall between those two. Of a lift: what can be done once."
        ],
        open=True,
    )


def _row(athlete: Athlete, history: ResultHistory, prediction: Prediction) -> list[str]:
    benchmark, unit = history.benchmark, athlete.load_unit
    best = next((mark for mark in reversed(history.marks) if mark.best), None)
    latest = history.marks[-1]
    between = range_of(benchmark, prediction.low, prediction.high, unit)
    results = [
        cell
        for mark in (best, latest)
        for cell in ((_result(mark, unit), day(mark.effort.performed_on)) if mark else ("to check", "–"))
    ]
    return [benchmark.name, *results, words_of(benchmark, prediction.value, unit), between, prediction.firmness]


def _chart(athlete: Athlete, history: ResultHistory, prediction: Prediction, today: date) -> Panel:
    benchmark, unit, marks = history.benchmark, athlete.load_unit, history.marks
    lift = benchmark.measure == Benchmark.Measure.LIFT
    scale = 1 / POUND_KG if lift and unit == "lb" else 1.0
    references = references_of(benchmark.movement.engine, benchmark.measure, benchmark.fixed)
    figure = charts_progress.history(
        days=[mark.effort.performed_on for mark in marks],
        values=[scale * _value(mark) for mark in marks],
        best=[mark.best for mark in marks],
        words=[f"{day(mark.effort.performed_on)}: {_result(mark, unit)}" for mark in marks],
        expected=tuple(scale * end for end in (prediction.value, prediction.low, prediction.high)),
        references=[(reference.low, reference.high, reference.words) for reference in references],
        timed=benchmark.value_unit == "s",
        unit=f"{unit} once" if lift else benchmark.value_unit,
        today=today,
    )
    return Panel(
        key="history",
        title=f"Results: {benchmark}",
        label=f"Results of {benchmark} over the years, personal bests, and what is expected today; better is higher.",
        head=["Day", "Result", "Personal best on its day", *(["Once, estimated"] if lift else [])],
        rows=[_mark_row(mark, unit, lift) for mark in reversed(marks)],
        empty=NO_EFFORT,
        file=f"{athlete.board_name}-{benchmark.slug}",
        figure=figure,
        notes=[f"{r.words}: {range_of(benchmark, r.low, r.high, unit)}. {r.source}." for r in references],
    )  # fmt: skip


def _mark_row(mark: Mark, unit: str, lift: bool) -> list[str]:
    once = [f"{number(_value(mark) / (POUND_KG if unit == 'lb' else 1), 0)} {unit}"] if lift else []
    return [day(mark.effort.performed_on), _result(mark, unit), "yes" if mark.best else "–", *once]


def _value(mark: Mark) -> float:
    return float(one_rep_max(mark.effort.value, mark.effort.repetitions or 1))


def _result(mark: Mark, unit: str) -> str:
    return result_text(mark.effort.benchmark.measure, mark.effort.value, mark.effort.repetitions, unit)
