from datetime import date
from functools import partial
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils import timezone

from athletes.capacity.constants import METHOD_VERSION
from athletes.gym.read import gym, today
from athletes.models import Account, Athlete
from athletes.sending import send
from sessions.models import Publication, PublishedSession, Week
from sessions.weeks.published import running_publication
from sessions.weeks.read import content_hash, content_of

# What a session keeps of the week it was published in.
FROZEN = ("key", "date", "hours", "circuit", "intent", "note", "caution")
OF_CLASSES = {"part_of": None, "place": 0, "parts": []}  # what a class without parts does not have


def publication_request(
    *, week: Week, by: Account, day: date | None = None, reviewed: str | None = None
) -> Publication:
    """Freeze the week as it is written now and send it to the worker. `day` (today): sessions before it are over.

    `reviewed` is the hash of the content that a coach looked at, where one did. Raises ValidationError, in words for
    the coach, when the week is not that any more, when it is empty, nobody is there to publish for, or a
    publishing of this week is under way (its row is then left alone: asking twice starts one).
    """
    content = content_of(week, gym())
    if not content["sessions"]:
        raise ValidationError("This week has no session yet. Add one, then publish.")
    if reviewed and reviewed != content_hash(content):
        raise ValidationError("The week was changed since you reviewed it. Look at it again, then publish.")
    day = day or today()
    over = _keys_of(past_sessions(week, day)) if week.pk else set()
    coming = [session for session in content["sessions"] if (session["key"], session["date"]) not in over]
    if too_hot := [session for session in coming if session["headrooms"] is None]:
        raise ValidationError(f"{too_hot[0]['caution']} Move that session, or correct the temperature expected there.")
    if not Athlete.objects.filter(active=True).exists():
        raise ValidationError("There is no active athlete to publish for. Add athletes first.")
    already = ValidationError("This week is being published right now. Wait until it is done, then publish again.")
    if running_publication(week):
        raise already
    try:
        return _request(week, content, by, day)
    except IntegrityError:  # two coaches in the same moment: the database lets one through
        raise already from None


@transaction.atomic
def _request(week: Week, content: dict, by: Account, day: date) -> Publication:
    publication = _queued(week, content, by)
    PublishedSession.objects.bulk_create(sessions_to_freeze(publication, content, past_sessions(week, day)))
    transaction.on_commit(partial(send, "sessions.publish", publication.pk))
    return publication


def _queued(week: Week, content: dict, by: Account, **more: Any) -> Publication:
    last = week.publications.aggregate(last=Max("revision"))["last"] or 0
    return Publication.objects.create(
        week=week,
        revision=last + 1,
        content=content,
        content_hash=content_hash(content),
        method_version=METHOD_VERSION,
        requested_by=by,
        heartbeat_at=timezone.now(),
        **more,
    )


def publication_cancel(*, publication: Publication, by: Account) -> bool:
    """Stop a publishing that is under way; False when it was over already. What is live stays so.

    Whoever works on it has lost the claim with this, and writes nothing more.
    """
    words = f"Stopped by {by}. What was published before stays."
    running = Publication.objects.filter(pk=publication.pk, state__in=Publication.RUNNING)
    return bool(running.update(state=Publication.State.FAILED, claim=None, failure=words))


def bring_back(*, publication: Publication, by: Account, day: date | None = None) -> Publication:
    """Publish an earlier revision again, as a new one with the targets that it had. `day` (today): sessions before it
    stay as people see them now. The week as it is written is left alone.

    Raises ValidationError, in words for the coach, while the week is being published, and for a revision that people
    never saw or see now; the one that they see now is returned where it was brought back a moment ago.
    """
    week, day = publication.week, day or today()
    live = week.publications.filter(state=Publication.State.LIVE).first()
    if live is None or publication.live_at is None or publication.revision >= live.revision:
        raise ValidationError("Only a revision that people saw before can be brought back.")
    already = ValidationError("This week is being published right now. Wait until it is done, then bring it back.")
    if running_publication(week):
        raise already
    if live.brings_back_id == publication.pk:
        return live
    coming = {str(key) for key in publication.sessions.filter(date__gte=day).values_list("key", flat=True)}
    for session in content_of(week, gym())["sessions"]:
        if session["headrooms"] is None and session["key"] in coming:
            raise ValidationError(f"{session['caution']} Move that session before you bring a revision back.")
    try:
        return _bring_back(publication, by, day)
    except IntegrityError:  # two coaches in the same moment: the database lets one through
        raise already from None


@transaction.atomic
def _bring_back(old: Publication, by: Account, day: date) -> Publication:
    past = past_sessions(old.week, day)
    over = _keys_of(past)
    rows = old.sessions.filter(date__gte=day).values("id", *FROZEN, *OF_CLASSES)
    publication = _queued(old.week, old.content, by, brings_back=old, computed_at=old.computed_at)
    sessions = [*past, *(row for row in rows if (row["key"], row["date"]) not in over)]
    PublishedSession.objects.bulk_create(_kept(publication, session) for session in sessions)
    transaction.on_commit(partial(send, "sessions.publish", publication.pk))
    return publication


def sessions_to_freeze(publication: Publication, content: dict, past: list[dict]) -> list[PublishedSession]:
    """Rows, not kept yet, of all sessions of a content: those that are over as they were, then the others."""
    over = _keys_of(past)
    coming = [session for session in content["sessions"] if (session["key"], session["date"]) not in over]
    rows = [PublishedSession(publication=publication, **_frozen(session)) for session in coming]
    for row in rows:
        row.key, row.date = UUID(row.key), date.fromisoformat(row.date)
        row.part_of = UUID(row.part_of) if row.part_of else None
    return [*(_kept(publication, session) for session in past), *rows]


def _kept(publication: Publication, session: dict) -> PublishedSession:
    return PublishedSession(publication=publication, kept_from_id=session["id"], **_frozen(session))


def _frozen(session: dict) -> dict:
    of_class = {name: session.get(name, usual) for name, usual in OF_CLASSES.items()}
    return {**{name: session[name] for name in FROZEN}, **of_class}


def _keys_of(sessions: list[dict]) -> set[tuple[str, str]]:
    return {(str(session["key"]), session["date"].isoformat()) for session in sessions}


def past_sessions(week: Week, day: date) -> list[dict]:
    """Sessions that everyone sees and whose day is over: every later revision leaves them as they were."""
    live = PublishedSession.objects.live().filter(publication__week=week)
    return list(live.filter(date__lt=day).values("id", *FROZEN, *OF_CLASSES))
