"""What the progress report of an athlete says: best results, what changed, training, and what comes next."""

from collections import Counter
from datetime import date, timedelta

import numpy as np
from django.db.models import F, QuerySet
from django.db.models.expressions import Combinable
from django.db.models.functions import Coalesce

from athletes.efforts.read import RETEST_AFTER
from athletes.estimates.library import involvement_of
from athletes.estimates.people import people_of, restrictions_of
from athletes.gym.read import gym
from athletes.models import Athlete, Benchmark
from athletes.models.movement import Engine
from athletes.people.past import curves_on
from athletes.trials.cautions import not_all_out
from athletes.words import ago, clock, day, hold_text, load_text, number, percent, repetitions_word, result_text
from sessions.models import Attendance, Log
from sessions.progress import report_paper as paper
from sessions.progress.benchmarks import Prediction, predicted, words_of
from sessions.progress.read import Done, Mark, ResultHistory, done_between, histories
from sessions.progress.report_curve import PaperCurve
from sessions.progress.report_paper import Report, Trend
from sessions.progress.training import TrainingWeek, training_weeks
from sessions.weeks.read import monday_of

STEP = 0.3  # of the way from the best to what a good day may bring: a goal that shows on the clock (ours)
TREND_SPAN = 0.05  # of a result: as much at least is the height of its picture (ours)
CURVE_S = (30, 60, 120, 300, 600, 1200)
CURVE_POINTS = 80
LEAST_WEEKS = 12  # drawn, even where the first of them hold nothing
NO_RESULT = "No benchmark was tested in this time. One test shows where you stand."
NO_GOAL = "Do one benchmark: a few minutes on a machine, or most unbroken repetitions. Goals come from there."
NOT_NOW = "No test to the limit for now. Train as asked; a coach says when to test again."
ESTIMATE = (
    "What is within reach is an estimate from your own results and logs; how you feel that day decides. "
    "Load counts logged sessions only."
)


def report_pdf(athlete: Athlete, first: date, last: date, today: date) -> bytes:
    """Two A4 pages about the days from `first` to `last`, both included."""
    return paper.pages(report_of(athlete, first, last, today))


def report_of(athlete: Athlete, first: date, last: date, today: date) -> Report:
    """As many queries for a long time as for a short one."""
    here, found = gym(), [h for h in histories(athlete) if h.marks[0].effort.performed_on <= last]
    results = [(history, best) for history in found if (best := _best(history, first, last))]
    done = done_between(athlete, first, last)
    weeks = training_weeks(athlete, done_between(athlete, monday_of(first), last), first, last, today)
    rows = sorted((_result(athlete, history, best, first) for history, best in results), key=lambda row: not row[-1])
    predictions = predicted(people_of([athlete]), [history.benchmark for history in found]) if found else {}
    caution, next_up = goals(athlete, found, predictions, today)
    return Report(
        name=athlete.name,
        gym=here.name,
        period=f"{day(first)} to {day(last)}",
        headline=_headline(rows),
        results=rows,
        trends=_trends(athlete, results, last),
        consistency=_consistency(athlete, done, first, last),
        weeks=_drawn(weeks),
        goals=[NOT_NOW] if caution else next_up,  # it is taken home, so why is not said
        curve=_curve(athlete, found, first, last),
        rules=here.local_rules,
        notes=[ESTIMATE],
    )


def _up_to(history: ResultHistory, last: date) -> list[Mark]:
    return [mark for mark in history.marks if mark.effort.performed_on <= last]


def _best(history: ResultHistory, first: date, last: date) -> Mark | None:
    """The best result of the period, the earlier of two that are equal."""
    inside = [mark for mark in history.marks if mark.counts and first <= mark.effort.performed_on <= last]
    return max(inside, key=lambda mark: mark.worth, default=None)


def _result(athlete: Athlete, history: ResultHistory, best: Mark, first: date) -> tuple[str, str, str, str, bool]:
    before = [mark for mark in history.marks if mark.counts and mark.effort.performed_on < first]
    earlier = max(before, key=lambda mark: mark.worth, default=None)
    words = "first result" if earlier is None else _changed(athlete, history.benchmark, best, earlier)
    record = earlier is not None and best.worth > earlier.worth
    return history.benchmark.name, _words(best, athlete), day(best.effort.performed_on), words, record


def _changed(athlete: Athlete, benchmark: Benchmark, best: Mark, earlier: Mark) -> str:
    """How a result differs from the best one before; a lift by what can be done once."""
    more, gap = best.worth > earlier.worth, abs(best.worth - earlier.worth)
    if gap < 0.05:
        return "as good as ever"
    if benchmark.faster_is_better:
        return f"{_seconds(gap)} {'faster' if more else 'behind the best'}"
    if benchmark.measure == Benchmark.Measure.LIFT:
        words = load_text(round(gap, 0), athlete.load_unit)
        return f"about {words} {'more' if more else 'less'}, lifted once"
    unit = benchmark.value_unit
    amount = (
        _seconds(gap) if unit == "s" else f"{number(gap)} {repetitions_word(gap) if unit == 'repetitions' else unit}"
    )
    return f"{amount} {'more' if more else 'behind the best'}"


def _seconds(gap: float) -> str:
    return f"{number(gap)} s" if gap < 60 else clock(gap)


def _headline(rows: list[tuple]) -> str:
    records = sum(row[-1] for row in rows)
    tests = f"{len(rows)} benchmark{'' if len(rows) == 1 else 's'} tested"
    if not rows:
        return NO_RESULT
    return f"{tests}, {records or 'no'} personal best{'' if records == 1 else 's'}{' (starred)' if records else ''}."


def _trends(athlete: Athlete, results: list[tuple[ResultHistory, Mark]], last: date) -> list[Trend]:
    """Of benchmarks with two results and more, those with a personal best in the period and many results first."""
    long = [(best.best, len(_up_to(history, last)), history) for history, best in results]
    long = sorted((entry for entry in long if entry[1] > 1), key=lambda entry: entry[:2], reverse=True)
    return [_trend(athlete, history, last) for *_, history in long]


def _drawn(weeks: list[TrainingWeek]) -> list[tuple[str, float | None]]:
    """The weeks on paper, from the first one with a load, or as many as make a picture."""
    start = next((n for n, week in enumerate(weeks) if week.load is not None), 0)
    shown = weeks[max(min(start, len(weeks) - LEAST_WEEKS), 0) :]
    return [(f"{week.monday.day} {week.monday:%b}", week.load) for week in shown]


def _trend(athlete: Athlete, history: ResultHistory, last: date) -> Trend:
    marks = _up_to(history, last)
    days = [mark.effort.performed_on.toordinal() for mark in marks]
    worth = [mark.worth for mark in marks]
    ends = [f"{day(mark.effort.performed_on)}: {_words(mark, athlete)}" for mark in (marks[0], marks[-1])]
    lift = history.benchmark.measure == Benchmark.Measure.LIFT
    name = f"{history.benchmark}{', lifted once (estimate)' if lift else ''}"
    return Trend(name, _spread(days), _spread(worth, TREND_SPAN), [mark.best for mark in marks], *ends)


def _spread(values: list[float], least: float = 0.0) -> list[float]:
    """The values from 0 to 1, over `least` of their size at least: a second between two results is no collapse."""
    low, high = min(values), max(values)
    span = max(high - low, least * max(abs(low), abs(high)))
    start = (low + high - span) / 2
    return [0.5 if span == 0 else (value - start) / span for value in values]


def _curve(athlete: Athlete, found: list[ResultHistory], first: date, last: date) -> PaperCurve | None:
    """The curve of the engine with most results up to `last`, and on the day before the period where there was one."""
    tested = Counter()
    for history in found:
        tested[history.benchmark.movement.engine] += len(_up_to(history, last))
    del tested[""]
    if not tested:
        return None
    engine = tested.most_common(1)[0][0]
    now = curves_on(athlete, last).get(engine)
    if now is None:
        return None
    before = curves_on(athlete, first - timedelta(days=1)).get(engine)
    duration_s = np.geomspace(CURVE_S[0], CURVE_S[-1], CURVE_POINTS)
    best, low, high = now.at(duration_s)
    places = [int(np.abs(duration_s - seconds).argmin()) for seconds in CURVE_S]
    held = [_held(engine, float(best[place])) for place in places]
    per = f", per {held[0][1]}" if held[0][1] else ""
    earlier = f", dashed the best on {day(first)}" if before else ""
    return PaperCurve(
        title=f"{Engine(engine).label.capitalize()}: what you can hold, by how long it lasts{per}",
        then_words=f"The band is where you are with 68 % likelihood{earlier}.",
        duration_s=duration_s,
        now=best,
        low=low,
        high=high,
        then=before.at(duration_s)[0] if before else None,
        ticks=[(place, clock(seconds, tenths=False)) for place, seconds in zip(places, CURVE_S, strict=True)],
        held=[words for words, _ in held],
    )


def _held(engine: str, power: float) -> tuple[str, str]:
    """A power in few words, and what the pace is for; watts where there is no pace."""
    words, _, per = hold_text(engine, power).partition(" per ")
    return (words, per) if engine != "bike" else (f"{number(power, 0)} W", "")


def _consistency(athlete: Athlete, done: list[Done], first: date, last: date) -> list[str]:
    visits = _visits(Log.objects.standing(), athlete, first, last, Coalesce("session__part_of", "session_key"))
    visits |= _visits(Attendance.objects, athlete, first, last, F("session_key"))
    weeks = len({monday_of(on) for _, on in visits})
    of = (monday_of(last) - monday_of(first)).days // 7 + 1
    if not visits:
        return ["No session is known of in this time. Log them on your phone: a few taps after each one."]
    trained = (
        f"{len(visits)} session{'' if len(visits) == 1 else 's'}, in {weeks} of {of} week{'' if of == 1 else 's'}."
    )
    shares = [one.share for one in done if one.share is not None]
    if not shares:
        return [trained]
    return [trained, f"Of what was asked in {len(shares)} logged, you did {percent(sum(shares) / len(shares))}."]


def _visits(rows: QuerySet, athlete: Athlete, first: date, last: date, key: Combinable) -> set:
    """Classes, whatever part of them was logged."""
    own = rows.filter(athlete=athlete, date__range=(first, last)).order_by()
    return set(own.values_list(key, "date"))


def goals(
    athlete: Athlete, found: list[ResultHistory], predictions: dict[int, Prediction], today: date
) -> tuple[str, list[str]]:
    """Why the athlete must not go all out today ("" where they may), and what is next, the surest first: personal bests
    within the expected interval, then tests that are due; nothing of a movement that a limitation rules out. Where
    there is a caution, what is next is for a coach only. At most four queries.
    """
    near, due, caution = [], [], not_all_out([athlete], today).get(athlete.pk, "")
    held = [limit for limit in restrictions_of([athlete.pk]).get(athlete.pk, ()) if limit.holds(today)]
    for history in found:
        movement = history.benchmark.movement
        if any(limit.forbids(today, movement.pk, involvement_of(movement)) for limit in held):
            continue
        best = max((mark for mark in history.marks if mark.counts), key=lambda mark: mark.worth, default=None)
        latest = history.marks[-1].effort.performed_on
        if best and (goal := _reach(athlete, history.benchmark, best, predictions[history.benchmark.pk])):
            near.append(goal)
        elif today - latest >= RETEST_AFTER:
            due.append(f"{history.benchmark}: last tested {ago(latest, today)}. Test it again when you are fresh.")
    said = [words for _, words in sorted(near, reverse=True)] + due
    return caution, said or ([] if held else [NO_GOAL])


def _reach(athlete: Athlete, benchmark: Benchmark, best: Mark, likely: Prediction) -> tuple[float, str] | None:
    """How near a new personal best is, and it in words; None where even a good day would hardly bring one."""
    sign = -1 if benchmark.faster_is_better else 1
    middle, good = sign * likely.value, max(sign * likely.low, sign * likely.high)
    if good <= best.worth or likely.firmness == "rough":
        return None
    aim = max(middle, best.worth + STEP * (good - best.worth))
    words, own = words_of(benchmark, abs(aim), athlete.load_unit), _words(best, athlete)
    worth = words_of(benchmark, abs(best.worth), athlete.load_unit)
    if worth == words:
        return None
    if benchmark.measure == Benchmark.Measure.LIFT and worth != own:  # what is aimed at is lifted once
        own += f" (about {worth})"
    return (middle - best.worth) / abs(best.worth), f"{benchmark}: best {own}; {words} is within reach."


def _words(mark: Mark, athlete: Athlete) -> str:
    effort = mark.effort
    return result_text(effort.benchmark.measure, effort.value, effort.repetitions, athlete.load_unit)
