"""What a calendar and a class's open page show."""

from collections import defaultdict
from datetime import date, timedelta

from athletes.models import Athlete
from sessions.models import PublishedSession, Target

BEHIND = timedelta(weeks=4)  # what stays in a calendar of what is over


def sessions_of(athlete: Athlete, day: date) -> list[tuple[PublishedSession, list[Target]]]:
    """The live sessions with targets for an athlete, from four weeks ago on; two queries."""
    live = PublishedSession.objects.live().filter(date__gte=day - BEHIND)
    sessions = {session.pk: session for session in live.select_related("publication")}
    targets = defaultdict(list)
    for target in Target.objects.filter(athlete=athlete, session_id__in=sessions).order_by("station"):
        targets[target.session_id].append(target)
    return [(session, targets[pk]) for pk, session in sessions.items() if targets[pk]]
