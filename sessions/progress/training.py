"""How an athlete trained over a number of weeks: sessions logged, and what is known of every day's load."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from athletes.capacity.load import DAYS, monotony, strain
from athletes.models import Athlete
from sessions.models import Attendance, Log, PublishedSession
from sessions.progress.read import Done
from sessions.weeks.read import monday_of

WEEKS = 26


@dataclass(frozen=True)
class TrainingWeek:
    """Load [RPE × minutes] of the logs with an RPE, None where there is none; `unknown` days may hold more.

    Monotony and strain are None unless all seven days are known and they differ.
    """

    monday: date
    sessions: int
    load: float | None
    unknown: int
    monotony: float | None
    strain: float | None


def training_weeks(athlete: Athlete, done: list[Done], first: date, last: date, today: date) -> list[TrainingWeek]:
    """The weeks from that of `first` to that of `last`; `done` are all the logs of these weeks. Four queries."""
    mondays = [monday_of(first) + timedelta(weeks=n) for n in range((monday_of(last) - monday_of(first)).days // 7 + 1)]
    daily = daily_loads(athlete, done, mondays[0], len(mondays) * DAYS, today).reshape(-1, DAYS)
    rated = [[d.load for d in done if monday_of(d.date) == monday and d.load is not None] for monday in mondays]
    return [
        TrainingWeek(
            monday=monday,
            sessions=sum(monday_of(d.date) == monday for d in done),
            load=sum(loads) if loads else None,
            unknown=int(np.isnan(week).sum()),
            monotony=_known(monotony(week)),
            strain=_known(strain(week)),
        )
        for monday, week, loads in zip(mondays, daily, rated, strict=True)
    ]


def daily_loads(athlete: Athlete, done: list[Done], first: date, days: int, today: date) -> np.ndarray:
    """Load of each day from `first` on, (days,); NaN where it is not known. Four queries.

    Known are days on which every session was logged with an RPE, and days of rest (0): days without a session, and days
    of which the gym kept who came, without this athlete. Nothing is known before the first log and from today on.
    """
    last = first + timedelta(days=days - 1)
    loads: dict[date, float] = {}
    for one in done:
        loads[one.date] = loads.get(one.date, 0.0) + (np.nan if one.load is None else one.load)
    own = Log.objects.standing().filter(athlete=athlete).order_by("date").values_list("date", flat=True).first()
    kept = Attendance.objects.filter(date__range=(first, last)).order_by()
    came = set(kept.filter(athlete=athlete).values_list("date", flat=True))
    counted = set(kept.values_list("date", flat=True).distinct())
    unknown = (_session_days(first, last) - counted) | came

    def load(day: date) -> float:
        if day in loads:
            return loads[day]
        return np.nan if own is None or day < own or day >= today or day in unknown else 0.0

    return np.array([load(first + timedelta(days=n)) for n in range(days)])


def _session_days(first: date, last: date) -> set[date]:
    live = PublishedSession.objects.live().filter(date__range=(first, last))
    return set(live.order_by().values_list("date", flat=True).distinct())


def _known(value) -> float | None:
    return None if np.isnan(value) else float(value)
