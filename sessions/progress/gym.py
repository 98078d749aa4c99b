"""What the page of the gym's progress shows: charts with their tables."""

from datetime import date, timedelta

import numpy as np

from athletes.benchmarks.library import references_of
from athletes.benchmarks.read import benchmarks_found
from athletes.capacity.constants import PATTERNS
from athletes.capacity.strength import one_rep_max
from athletes.efforts.read import RETEST_AFTER, latest_by_athlete
from athletes.estimates.observations import can_be
from athletes.models import Athlete, Benchmark, Effort
from athletes.words import NOTHING, clock, day, number, percent
from sessions.progress import charts_progress
from sessions.progress.benchmarks import range_of, words_of
from sessions.progress.gym_read import class_weeks, pattern_sets
from sessions.progress.panels import Panel
from sessions.weeks.read import monday_of

WEEKS = 12
PATTERN_WEEKS = 8
MEAN_WEEKS = 4
LEAST = 1.0  # of any unit, for a share of nothing at all
NO_LOGS = "Nothing logged in these weeks. Athletes log on their phone after a session, staff on the floor sheet."


def gym_panels(chosen: Benchmark | None, then: date, today: date) -> list[Panel]:
    """Spread of a benchmark today and on the day `then`, retest coverage, adherence and load by pattern; ten queries,
    however many they are."""
    athletes = list(Athlete.objects.filter(active=True))
    benchmarks = list(benchmarks_found())
    shown = next((b for b in benchmarks if chosen and b.pk == chosen.pk), None)
    shown = shown or max(benchmarks, key=lambda benchmark: benchmark.tested, default=None)
    return [
        _spread_panel(shown, athletes, then),
        _coverage_panel(benchmarks, len(athletes)),
        _adherence_panel(today, len(athletes)),
        _pattern_panel(today),
    ]


def _worth(effort: Effort) -> float:
    """A result as it is drawn: a lift as one repetition."""
    return float(one_rep_max(effort.value, effort.repetitions or 1))


def _spread_panel(benchmark: Benchmark | None, athletes: list[Athlete], then: date) -> Panel:
    now = latest_by_athlete(benchmark, athletes) if benchmark else {}
    before = latest_by_athlete(benchmark, athletes, then) if benchmark else {}
    now, before = (
        {pk: e for pk, e in found.items() if can_be(e.benchmark, e.value, e.repetitions, e.fixed)}
        for found in (now, before)
    )
    name = str(benchmark or "Benchmark")
    file = f"spread-{benchmark.slug if benchmark else ''}"
    panel = {"key": "spread", "title": f"Is it working? {name}", "file": file}
    empty = "No result yet. Add a benchmark and test it; the spread appears with the first result."
    if not now:
        return Panel(**panel, label="", head=[], rows=[], empty=empty)
    values, earlier = ([_worth(effort) for effort in found.values()] for found in (now, before))
    lift, timed = benchmark.measure == Benchmark.Measure.LIFT, benchmark.value_unit == "s"
    unit = "kg once" if lift else benchmark.value_unit
    references = references_of(benchmark.movement.engine, benchmark.measure, benchmark.fixed)
    figure, bins = charts_progress.spread(
        values=values, earlier=earlier, earlier_name=f"by {day(then)}", timed=timed, unit=unit,
        references=[(r.low, r.high, r.words) for r in references],
    )  # fmt: skip
    middle = words_of(benchmark, float(np.median(values)), "kg")
    count = f"{len(now)} of {len(athletes)} active athletes have a result; the middle one is {middle}."
    if again := [pk for pk in before if pk in now]:  # the same people then and now: who came since is no change
        was, now_is = (
            words_of(benchmark, float(np.median([_worth(found[pk]) for pk in again])), "kg") for found in (before, now)
        )
        count += f" Of the {len(again)} who had one by {day(then)} the middle one was {was} then and is {now_is} now."
    sources = [f"{r.words}: {range_of(benchmark, r.low, r.high, 'kg')}. {r.source}." for r in references]
    return Panel(
        **panel,
        label=f"How many athletes have which latest result in {name}, today and by {day(then)}.",
        head=["From", "To", f"Athletes by {day(then)}", "Athletes today"],
        rows=[[_edge(low, timed), _edge(high, timed), str(was), str(n)] for low, high, was, n in bins],
        empty=empty,
        figure=figure,
        notes=[f"{count} Counted is everyone's latest result, however old.", *sources],
        lead=_better_since(benchmark, now, before, then),
    )


def _better_since(benchmark: Benchmark, now: dict[int, Effort], before: dict[int, Effort], then: date) -> str:
    """Of those who were tested by a day and since, how many are better, and by how much the middle one is."""
    both = [pk for pk, effort in now.items() if pk in before and effort.performed_on > then]
    if not both:
        return f"Nobody has a result by {day(then)} and a newer one: choose a later day, or test again."
    was, value = (np.array([_worth(found[pk]) for pk in both]) for found in (before, now))
    changes = (value - was) / np.maximum(was, LEAST) * (-1.0 if benchmark.faster_is_better else 1.0)
    better, middle = int((changes > 0).sum()), float(np.median(changes))
    way = "better" if middle >= 0 else "worse"
    return (
        f"Of the {len(both)} tested by {day(then)} and since, {better} {'is' if better == 1 else 'are'} better; "
        f"the middle one is {percent(abs(middle), 1)} {way}."
    )


def _edge(value: float, timed: bool) -> str:
    return clock(value) if timed else number(value)


def _coverage_panel(benchmarks: list[Benchmark], active: int) -> Panel:
    shares = [benchmark.fresh / active if active else 0.0 for benchmark in benchmarks]
    words = [f"{b}: {b.fresh} of {active}" for b in benchmarks]
    figure = charts_progress.lying_bars(
        names=[b.name for b in benchmarks], series=[("bar", "", [100 * share for share in shares], words)],
        unit="% of active athletes",
    )  # fmt: skip
    return Panel(
        key="coverage",
        title="Retest coverage",
        label=f"Share of active athletes with an effort in the last {RETEST_AFTER.days} days, by benchmark.",
        head=["Benchmark", f"Effort in {RETEST_AFTER.days} days", "Ever", "Share"],
        rows=[
            [b.name, str(b.fresh), str(b.tested), percent(share)] for b, share in zip(benchmarks, shares, strict=True)
        ],
        empty="No benchmark yet. Add some from the list on the page Benchmarks.",
        file="retest-coverage",
        figure=figure if benchmarks else None,
        notes=[f"Of {active} active athletes. Nobody needs every test: who to test first stands on its own page."],
    )


def _adherence_panel(today: date, active: int) -> Panel:
    weeks = class_weeks(_mondays(today, WEEKS))
    each = [week.visits / active if active and week.published else None for week in weeks]
    words = [
        f"week of {day(w.monday)}: {number(e, 2)} of {w.published} sessions" for w, e in zip(weeks, each, strict=True)
    ]
    figure = charts_progress.bars(
        names=[day(week.monday) for week in weeks], values=each, words=words, unit="sessions per active athlete"
    )
    rows = [
        [day(w.monday), str(w.published), str(w.visits), str(w.athletes), number(e, 2),
         percent(e / w.published) if e is not None else "–"]
        for w, e in zip(weeks, each, strict=True)
    ]  # fmt: skip
    known = any(week.published for week in weeks)
    return Panel(
        key="adherence",
        title="Adherence",
        label="Sessions that an active athlete came to, week by week.",
        head=["Week of", "Sessions published", "Visits", "Athletes who came", "Sessions per active athlete", "Share"],
        rows=rows[::-1] if known else [],
        empty="No session published in these weeks. Publish a week, and it counts from then on.",
        file="adherence",
        figure=figure if known else None,
        notes=[
            "A visit is a session that an athlete logged, or stands on the list of who came; each counts once. Share: "
            f"of all published sessions, by the {active} athletes who are active today. The last week is not over."
        ],
    )


def _pattern_panel(today: date) -> Panel:
    mondays = _mondays(today, PATTERN_WEEKS)
    sets = pattern_sets(mondays)
    last, before = mondays[-2], [m for m in mondays[-2 - MEAN_WEEKS : -2] if any(sets[m].values())]
    names = [pattern.replace("_", " ") for pattern in PATTERNS]
    shown = [("bar", f"week of {day(last)}", sets[last])]
    if before:  # a week without logs is not one without work
        mean = {pattern: float(np.mean([sets[monday][pattern] for monday in before])) for pattern in PATTERNS}
        shown.append(("before", f"mean of the {MEAN_WEEKS} weeks before, those with logs", mean))
    series = [
        (meta, title, [amounts[p] for p in PATTERNS], [f"{title}, {p}: {number(amounts[p], 0)}" for p in PATTERNS])
        for meta, title, amounts in shown
    ]
    known = any(sum(week.values()) for week in sets.values())
    return Panel(
        key="patterns",
        title="Load by movement pattern",
        label="Weighted sets by movement pattern, the last full week and the mean of the four weeks before.",
        head=["Week of", *names],
        rows=[_pattern_row(monday, sets[monday]) for monday in reversed(mondays)] if known else [],
        empty=NO_LOGS,
        file="load-by-pattern",
        figure=charts_progress.lying_bars(names=names, series=series, unit="weighted sets") if known else None,
        notes=[
            "A set is one round of one athlete at a station; half its dose done counts half. A movement counts in each "
            "pattern by its involvement (0 to 1, as on the page Movements): a round of pull-ups with involvement 0.3 "
            "of the trunk is 0.3 sets there. The unit is ours: it compares weeks of this gym, not patterns, loads or "
            "people. Only logged sessions count."
        ],
    )


def _pattern_row(monday: date, sets: dict[str, float]) -> list[str]:
    logged = any(sets.values())
    return [day(monday), *(number(sets[pattern], 0) if logged else NOTHING for pattern in PATTERNS)]


def _mondays(today: date, weeks: int) -> list[date]:
    return [monday_of(today) - timedelta(weeks=back) for back in reversed(range(weeks))]
