"""The classes of a published session, and which of them has a clock that runs."""

from dataclasses import dataclass
from datetime import date, datetime

from sessions.models import ClassRun, PublishedSession


@dataclass(frozen=True)
class TodaysClass:
    """A class of the day that everyone sees, and whether its clock runs."""

    session: PublishedSession
    hour: str
    runs: bool


def classes_of_day(day: date, now_ms: int) -> list[TodaysClass]:
    """The published classes of `day` by their time; two queries."""
    sessions = PublishedSession.objects.live().classes().filter(date=day)
    running = set(
        ClassRun.objects.filter(date=day, standing=True, over_ms__gt=now_ms).values_list("session_key", "hour")
    )
    classes = [
        TodaysClass(session, hour, (session.key, hour) in running)
        for session in sessions
        for hour in session.hours or [""]
    ]
    return sorted(classes, key=lambda one: one.hour)


def class_time(session: PublishedSession, asked: str, now: datetime) -> str:
    """The class time asked for, or else the one nearest to `now` (the gym's own time); empty where there is none."""
    if asked in session.hours or not session.hours:
        return asked if session.hours else ""
    minute = 60 * now.hour + now.minute
    return min(session.hours, key=lambda hour: abs(60 * int(hour[:2]) + int(hour[3:]) - minute))


def live_session_of(session: PublishedSession) -> PublishedSession:
    """The same session as everyone sees it now; itself when it is in no live revision any more."""
    return PublishedSession.objects.as_seen(session.key, session.date) or session
