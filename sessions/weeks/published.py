from datetime import datetime, time, timedelta

from django.db.models import Case, Q, QuerySet, When
from django.utils import timezone

from athletes.models import Athlete, Effort, Limitation, Override
from sessions.models import Publication, PublishedSession, Week

State = Publication.State
LOOK_AHEAD = timedelta(days=7)
WAITS_TOO_LONG = timedelta(minutes=2)  # of a publishing that no worker takes
AROUND_A_CLASS = timedelta(minutes=30)  # for warm-up and coming late, before a board gives way to the next


def live_publication(week: Week) -> Publication | None:
    return week.publications.filter(state=State.LIVE).first() if week.pk else None


def running_publication(week: Week) -> Publication | None:
    return week.publications.filter(state__in=Publication.RUNNING).first() if week.pk else None


def oldest_waiting() -> datetime | None:
    """When the publishing that has waited longest was asked for; None when none waits."""
    waiting = Publication.objects.filter(state=State.QUEUED).order_by("requested_at")
    return waiting.values_list("requested_at", flat=True).first()


def publishing_waits() -> bool:
    """Whether a publishing waits so long that no worker can be at work."""
    waiting = oldest_waiting()
    return waiting is not None and timezone.now() - waiting > WAITS_TOO_LONG


def next_class(now: datetime) -> tuple[PublishedSession | None, datetime | None]:
    """The published session with a class that runs at `now` (the gym's own time), or else the one that comes next, and
    when that begins. One query.
    """
    today = now.date()
    coming = PublishedSession.objects.live().classes().filter(date__range=(today, today + LOOK_AHEAD))
    coming = coming.select_related("publication")
    ahead = [(starts, session.pk, session) for session in coming for starts in _class_starts(session, now)]
    if not ahead:
        return None, None
    starts, _, session = min(ahead)
    return session, starts


def starts_of(session: PublishedSession, hour: str = "") -> datetime:
    """When a session's class begins at one of its times, the first where none is said; midnight where it has none."""
    at = time.fromisoformat(hour or (session.hours or ["00:00"])[0])
    return timezone.make_aware(datetime.combine(session.date, at))


def next_of_athlete(athlete: Athlete, now: datetime) -> PublishedSession | None:
    """The earliest of an athlete's sessions of today that is not over yet, or else the last of them. One query."""
    own = PublishedSession.objects.live().classes().filter(date=now.date(), targets__athlete=athlete).distinct()
    today = sorted(own.select_related("publication"), key=lambda session: (session.hours or [""])[0])
    return next((session for session in today if _class_starts(session, now)), today[-1] if today else None)


def _class_starts(session: PublishedSession, now: datetime) -> list[datetime]:
    """When the session's classes begin that are not over yet; a session without class times counts all day."""
    lasts = timedelta(seconds=session.lasts_s) + AROUND_A_CLASS
    hours = [time.fromisoformat(hour) for hour in session.hours] or [time(23, 59)]
    starts = [datetime.combine(session.date, hour, tzinfo=now.tzinfo) for hour in hours]
    return [start for start in starts if start + lasts > now]


def class_of(session: PublishedSession) -> PublishedSession:
    """The class that a session is a part of, in the same revision; itself where it is a whole class."""
    if session.part_of is None:
        return session
    return PublishedSession.objects.select_related("publication").get(
        publication=session.publication_id, key=session.part_of, date=session.date
    )


def parts_with_circuits(session: PublishedSession) -> dict[str, PublishedSession]:
    """The parts of a class that have a circuit, with their publication, by key; the class itself among them.

    Of a class or of one of its parts. One query, none where the class is its circuit alone.
    """
    session = class_of(session)
    found = {str(session.key): session}
    if any(part.session and not part.main for part in session.class_parts):
        own = PublishedSession.objects.filter(
            publication=session.publication_id, part_of=session.key, date=session.date
        )
        found |= {str(part.key): part for part in own.select_related("publication")}
    return found


def fresher_athletes(publication: Publication) -> QuerySet[Athlete]:
    """Active athletes whose published targets are behind: results, limitations or cautions changed, or they are new;
    with `limited`, whether a limitation or a caution was."""
    since = publication.computed_at
    if since is None:
        return Athlete.objects.none()
    efforts = Effort.objects.filter(Q(entered_at__gt=since) | Q(voided_at__gt=since)).values("athlete_id")
    limitations = Limitation.objects.filter(updated_at__gt=since).values("athlete_id")
    overrides = Override.objects.filter(updated_at__gt=since).values("athlete_id")
    behind = Q(pk__in=efforts) | Q(pk__in=limitations) | Q(pk__in=overrides) | Q(created_at__gt=since)
    behind |= Q(returned_on__gt=timezone.localdate(since))
    limited = Case(When(Q(pk__in=limitations) | Q(pk__in=overrides), then=True), default=False)
    return Athlete.objects.filter(behind, active=True).annotate(limited=limited)


def limited_since(moment: datetime) -> set[int]:
    """Ids of active athletes whose limitations or cautions were changed since then."""
    changed = [model.objects.filter(updated_at__gt=moment, athlete__active=True) for model in (Limitation, Override)]
    return {athlete for rows in changed for athlete in rows.order_by().values_list("athlete_id", flat=True)}


def previous_revision(publication: Publication) -> Publication | None:
    """The revision that was live before this one."""
    earlier = Publication.objects.filter(
        week=publication.week_id, revision__lt=publication.revision, live_at__isnull=False
    )
    return earlier.order_by("-revision").first()
