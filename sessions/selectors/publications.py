from datetime import date, datetime

from django.db.models import Q, QuerySet

from athletes.models import Athlete, Effort
from sessions.models import Publication, PublishedSession, Week

State = Publication.State


def live_publication(week: Week) -> Publication | None:
    return week.publications.filter(state=State.LIVE).first() if week.pk else None


def running_publication(week: Week) -> Publication | None:
    return week.publications.filter(state__in=Publication.RUNNING).first() if week.pk else None


def oldest_waiting() -> datetime | None:
    """When the publishing that has waited longest was asked for; None when none waits."""
    waiting = Publication.objects.filter(state=State.QUEUED).order_by("requested_at")
    return waiting.values_list("requested_at", flat=True).first()


def live_sessions(first: date, last: date) -> QuerySet[PublishedSession]:
    """The sessions people see, from `first` to `last`."""
    return PublishedSession.objects.filter(publication__state=State.LIVE, date__range=(first, last))


def fresher_athletes(publication: Publication) -> QuerySet[Athlete]:
    """Active athletes whose evidence changed after the publication's targets were worked out."""
    since = publication.computed_at
    if since is None:
        return Athlete.objects.none()
    changed = Effort.objects.filter(Q(entered_at__gt=since) | Q(voided_at__gt=since)).values("athlete_id")
    return Athlete.objects.filter(active=True, pk__in=changed)


def previous_revision(publication: Publication) -> Publication | None:
    """The revision that was live before this one."""
    earlier = Publication.objects.filter(
        week=publication.week_id, revision__lt=publication.revision, live_at__isnull=False
    )
    return earlier.order_by("-revision").first()
