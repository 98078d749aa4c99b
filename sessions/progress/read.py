"""What an athlete sees of their own way: results over the years, what was asked and done, the load of the weeks."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from math import inf

from athletes.capacity.load import session_load
from athletes.capacity.strength import one_rep_max
from athletes.estimates.read import benchmark_lines
from athletes.models import Athlete, Benchmark, Effort
from athletes.words import clock
from sessions.models import Log, LogEntry
from sessions.weeks.read import monday_of

WEEKS = 12


@dataclass(frozen=True)
class Mark:
    """An effort, how good it is (more is better, whatever the measure), and whether it was the best up to its day: one
    that the athlete's other efforts contradict is not, nor does it count for any other."""

    effort: Effort
    worth: float
    best: bool
    counts: bool = True


@dataclass(frozen=True)
class ResultHistory:
    """The efforts of one benchmark, the oldest first."""

    benchmark: Benchmark
    marks: list[Mark]


@dataclass(frozen=True)
class Done:
    """A logged session: `share` of what was asked, None where no station was logged; `load` RPE × minutes."""

    date: date
    name: str
    rpe: float | None
    minutes: float
    share: float | None

    @property
    def load(self) -> float | None:
        """Session load [arbitrary units], with the rests but without the warm-up, which nobody logs."""
        return None if self.rpe is None else float(session_load(self.rpe, self.minutes))


@dataclass(frozen=True)
class WeekLoad:
    """The load of a week; None where nothing of it was logged with an RPE: not known is not nothing."""

    monday: date
    load: float | None
    sessions: int
    unrated: int


def histories(athlete: Athlete) -> list[ResultHistory]:
    """Every benchmark with an effort that stands and can be right, by name. One query."""
    return [
        _history(line.benchmark, line.credible[::-1], line.too_good)
        for line in benchmark_lines(athlete)
        if line.credible
    ]


def sessions_done(athlete: Athlete, day: date) -> list[Done]:
    """The sessions logged in the twelve weeks up to `day`, the oldest first. Two queries."""
    return done_between(athlete, monday_of(day) - timedelta(weeks=WEEKS - 1), day)


def done_between(athlete: Athlete, first: date, last: date) -> list[Done]:
    """The sessions logged on these days, both included, the oldest first. Two queries."""
    logs = Log.objects.standing().filter(athlete=athlete, date__range=(first, last))
    logs = logs.select_related("session").prefetch_related("entries").order_by("date", "id")
    return [
        Done(
            date=log.date,
            name=f"{log.session.definition.name}{f', {clock(log.time_s, tenths=False)}' if log.time_s else ''}",
            rpe=log.rpe,
            minutes=(log.time_s or log.session.definition.duration_s) / 60,
            share=share_done(log.entries.all()),
        )
        for log in logs
    ]


def share_done(entries: Iterable[LogEntry]) -> float | None:
    """What was done of what was asked, every station counting alike; stations that asked for nothing are left out."""
    shares = [
        entry.rounds * entry.dose / (entry.asked_rounds * entry.asked_dose)
        for entry in entries
        if entry.asked_rounds and entry.asked_dose
    ]
    return sum(shares) / len(shares) if shares else None


def week_loads(done: list[Done], day: date) -> list[WeekLoad]:
    """The twelve weeks up to that of `day`, those without a log too."""
    mondays = [monday_of(day) - timedelta(weeks=back) for back in reversed(range(WEEKS))]
    return [_week_load(monday, [one for one in done if monday_of(one.date) == monday]) for monday in mondays]


def _week_load(monday: date, done: list[Done]) -> WeekLoad:
    loads = [one.load for one in done if one.load is not None]
    return WeekLoad(monday, sum(loads) if loads else None, len(done), len(done) - len(loads))


def _history(benchmark: Benchmark, efforts: list[Effort], too_good: frozenset[int]) -> ResultHistory:
    best, marks = -inf, []
    for effort in efforts:
        lifted = float(one_rep_max(effort.value, effort.repetitions or 1))
        worth = -effort.value if benchmark.faster_is_better else lifted
        counts = effort.pk not in too_good
        marks.append(Mark(effort, worth, counts and worth > best, counts))
        best = max(best, worth) if counts else best
    return ResultHistory(benchmark, marks)
