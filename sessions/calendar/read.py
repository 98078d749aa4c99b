"""What a calendar and a class's open page show."""

from collections import defaultdict
from datetime import date, timedelta

from athletes.gym.read import today
from athletes.models import Athlete
from sessions.models import Coming, PublishedSession, Target
from sessions.places.read import usual_hours

BEHIND = timedelta(weeks=4)  # what stays in a calendar of what is over


def sessions_of(athlete: Athlete, day: date) -> list[tuple[PublishedSession, list[Target]]]:
    """The live sessions with targets for an athlete, from four weeks ago on; two queries."""
    live = PublishedSession.objects.live().filter(date__gte=day - BEHIND)
    sessions = {session.pk: session for session in live.select_related("publication")}
    targets = defaultdict(list)
    for target in Target.objects.filter(athlete=athlete, session_id__in=sessions).order_by("station"):
        targets[target.session_id].append(target)
    return [(session, targets[pk]) for pk, session in sessions.items() if targets[pk]]


def class_hours(athlete: Athlete, sessions: list[PublishedSession]) -> dict[int, str]:
    """The class time at which an athlete is expected, by session; none where nobody knows. Two queries."""
    keys = {session.key for session in sessions}
    chosen = Coming.objects.filter(athlete=athlete, session_key__in=keys)
    chose = {(key, day): hour for key, day, hour in chosen.values_list("session_key", "date", "hour")}
    usual = usual_hours(today(), [athlete.pk]).get(athlete.pk, "")
    found = {}
    for session in sessions:
        only = session.hours[0] if len(session.hours) == 1 else ""
        hour = chose.get((session.key, session.date), "") or only or usual
        if hour in session.hours:
            found[session.pk] = hour
    return found
