from functools import partial

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils import timezone

from athletes.capacity.constants import METHOD_VERSION
from athletes.models import Account, Athlete
from athletes.selectors.gym import gym
from sessions import tasks
from sessions.models import Publication, PublishedSession, Week
from sessions.selectors.publications import running_publication
from sessions.selectors.weeks import content_hash, content_of


def publication_request(*, week: Week, by: Account) -> Publication:
    """Freeze the week as it is written now and send it to the worker.

    Raises ValidationError, in words for the coach, when the week is empty, nobody is there to publish for, or a
    publishing of this week is under way (its row is then left alone: asking twice starts one).
    """
    content = content_of(week, gym())
    if not content["sessions"]:
        raise ValidationError("This week has no session yet. Add one, then publish.")
    if not Athlete.objects.filter(active=True).exists():
        raise ValidationError("There is no active athlete to publish for. Add athletes first.")
    already = ValidationError("This week is being published right now. Wait until it is done, then publish again.")
    if running_publication(week):
        raise already
    try:
        return _request(week, content, by)
    except IntegrityError:  # two coaches in the same moment: the database lets one through
        raise already from None


@transaction.atomic
def _request(week: Week, content: dict, by: Account) -> Publication:
    last = week.publications.aggregate(last=Max("revision"))["last"] or 0
    publication = Publication.objects.create(
        week=week,
        revision=last + 1,
        content=content,
        content_hash=content_hash(content),
        method_version=METHOD_VERSION,
        requested_by=by,
        heartbeat_at=timezone.now(),
    )
    names = ("key", "date", "hours", "circuit", "intent", "note")
    PublishedSession.objects.bulk_create(
        PublishedSession(publication=publication, **{name: session[name] for name in names})
        for session in content["sessions"]
    )
    transaction.on_commit(partial(tasks.send, publication.pk))
    return publication
