"""Athletes who stand in a class that was published without them: targets at once, frozen like everyone's."""

from collections import defaultdict
from dataclasses import replace
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from athletes.estimates.people import load_people
from athletes.gym.read import today
from athletes.locks import athlete_lock
from athletes.models import Account, Athlete
from athletes.people.write import athlete_create
from sessions.boards import files, phone
from sessions.class_versions import classes_moved
from sessions.floor.attendance import attendance_mark
from sessions.models import PersonalPage, Publication, PublishedSession
from sessions.publishing.rows import insert_targets
from sessions.targets.compute import compute
from sessions.targets.detail import frozen, read
from sessions.targets.history import load_history
from sessions.weeks.days import occasions_of


def walk_in_new(*, session: PublishedSession, hour: str, name: str, board_name: str, key: UUID, by: Account) -> Athlete:
    """Somebody new, from a name alone, in the class with targets; the same key again gives the athlete that is kept.

    ValidationError, by field, for a name that cannot be; without one when the class is not today's.
    """
    _refuse_other_days(session)
    athlete = _kept(key, name) or _create(Athlete(key=key, name=name, board_name=board_name), by)
    walk_in_add(session=session, hour=hour, athlete=athlete, by=by)
    return athlete


@transaction.atomic
def walk_in_add(*, session: PublishedSession, hour: str, athlete: Athlete, by: Account) -> None:
    """Give an active athlete targets in a class of today and in what is left of its week, and mark that they came.

    From their estimates, or the first guess where there are none. What they have already stays: again changes nothing.
    """
    _refuse_other_days(session)
    if not athlete.active:
        raise ValidationError(f"{athlete} does not take part now. Change that on the athlete's page first.")
    # Whoever publishes the week in this moment waits until this is done, or has done it.
    publication = Publication.objects.select_for_update().select_related("week").get(pk=session.publication_id)
    if publication.state != Publication.State.LIVE:
        raise ValidationError("The week was published again in this moment. Reload the page and add them there.")
    athlete_lock(athlete.pk)
    left = publication.sessions.filter(date__gte=today()).exclude(targets__athlete=athlete)
    if sessions := list(left):
        _freeze(publication, sessions, athlete, session.class_key)
        classes_moved({(session.class_key, session.date) for session in sessions})
    attendance_mark(session=session, athlete_id=athlete.pk, hour=hour, by=by)


def _freeze(publication: Publication, sessions: list[PublishedSession], athlete: Athlete, walks_into: UUID) -> None:
    people = load_people([athlete.pk])
    history = load_history(people.athletes)
    for session, occasion in occasions_of(publication, sessions):
        found = list(compute(session.definition, people, history, replace(occasion, bars=_bars(session))))
        if session.class_key == walks_into:
            marked = [frozen(replace(read(one.detail), walk_in=True)) for one in found]
            found = [one._replace(detail=detail) for one, detail in zip(found, marked, strict=True)]
        insert_targets(session, found)
    for _, page in phone.pages(publication, list(publication.sessions.all()), [athlete.pk]):
        path = {"path": files.write(page, ".json")}
        PersonalPage.objects.update_or_create(publication=publication, athlete=athlete, defaults=path)


def _bars(session: PublishedSession) -> dict[tuple[int, int], tuple[float, ...]]:
    """The loads [kg] that stand at each station and rung of a class. One query."""
    bars = defaultdict(tuple)
    loaded = session.targets.filter(load_kg__isnull=False).order_by()
    for station, rung, load_kg in loaded.values_list("station", "rung", "load_kg").distinct():
        bars[station, rung] += (load_kg,)
    return bars


def _kept(key: UUID, name: str) -> Athlete | None:
    kept = Athlete.objects.filter(key=key).first()
    if kept and kept.name != name:
        raise ValidationError(f"This page was already used to add {kept}. Reload it and add the next one.")
    return kept


def _create(athlete: Athlete, by: Account) -> Athlete:
    try:
        with transaction.atomic():
            return athlete_create(athlete=athlete, by=by)
    except (IntegrityError, ValidationError):  # the same tap in the same moment came first
        kept = _kept(athlete.key, athlete.name)
        if kept is None:
            raise
        return kept


def _refuse_other_days(session: PublishedSession) -> None:
    if session.date != today():
        raise ValidationError("Walk-ins are added on the day of the class. For another day publish the week again.")
