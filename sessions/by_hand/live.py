"""Targets set by hand in a week that is live: they show at once, on the athlete's page and on the wall.

Only the station that was set moves; everything else stays as it was published. What stood there before is kept in the
row, and comes back when the pin is taken off.
"""

from datetime import timedelta

from django.db import transaction
from django.db.models import Q

from athletes.estimates.people import People, load_people
from athletes.gym.read import today
from sessions.boards import files, phone, wall
from sessions.by_hand.read import standing_pins
from sessions.by_hand.swap import as_it_stands
from sessions.models import PersonalPage, Pin, Publication, PublishedSession, Target
from sessions.scaling.targets import Bound
from sessions.targets.history import load_history
from sessions.targets.occasion import Occasion, allowed_rung
from sessions.targets.rows import TARGET_FIELDS, target_values
from sessions.targets.settings import load_settings
from sessions.weeks.read import intent_factor_of

BEFORE = timedelta(minutes=1)  # a pin made earlier may have been written later; applying one twice changes nothing
PINNED = Bound.PINNED.name.lower()
MOVED = ("rung", "dose", "load_kg", "hold", "done_by_s", "headroom", "probability", "sd_log", "detail")


@transaction.atomic
def apply_pins(session: PublishedSession, athlete_id: int) -> None:
    """Bring an athlete's targets of a live session in line with the standing pins; doing it twice changes nothing."""
    frozen = list(Target.objects.select_for_update().filter(session=session, athlete_id=athlete_id).order_by("station"))
    pins = {pin.station: pin for pin in standing_pins([session.key], [athlete_id])}
    people = load_people([athlete_id])
    standing = {t.station for t in frozen if (p := pins.get(t.station)) and _fits(session, t, p, people)}
    freed = _take_back([target for target in frozen if target.station not in standing])
    if standing or freed:
        _work_out(session, frozen, {station: pins[station] for station in standing}, freed, people)
    Target.objects.bulk_update(frozen, MOVED)
    _redraw_page(session, athlete_id)


@transaction.atomic
def redraw_wall(session: PublishedSession) -> None:
    """Make the wall page of a session anew from its targets; two at once take turns, so that the later one stands."""
    PublishedSession.objects.select_for_update().get(pk=session.pk)
    lines = wall.board_lines(session.publication, session)
    page = files.write(wall.page(session.publication, session, lines), ".html")
    PublishedSession.objects.filter(pk=session.pk).update(wall_page=page)


def catch_up(publication: Publication) -> None:
    """Apply what was set by hand while a publication was being made."""
    publication.refresh_from_db(fields=["computed_at"])
    since = publication.computed_at - BEFORE
    sessions = {session.key: session for session in publication.sessions.filter(kept_from__isnull=True)}
    moved = Pin.objects.filter(Q(made_at__gte=since) | Q(taken_off_at__gte=since), session_key__in=sessions)
    found = set(moved.order_by().values_list("session_key", "athlete_id"))
    for key, athlete_id in found:
        apply_pins(sessions[key], athlete_id)
    for key in {key for key, _ in found}:
        redraw_wall(sessions[key])


def _fits(session: PublishedSession, target: Target, pin: Pin, people: People) -> bool:
    station = session.definition.stations[target.station - 1]
    return allowed_rung(station, pin, people.restrictions.get(0, ()), session.date) is not None


def _take_back(targets: list[Target]) -> set[int]:
    """Put back what stood there before it was set by hand; the stations published as set that stand free now."""
    freed = {t.station for t in targets if t.detail["bound"] == PINNED and "before" not in t.detail}
    for target in targets:
        for name, value in target.detail.get("before", {}).items():
            setattr(target, name, value)
    return freed


def _work_out(
    session: PublishedSession, frozen: list[Target], pins: dict[int, Pin], freed: set[int], people: People
) -> None:
    """The figures of what was set, and for freed stations what the method says; the others stay as they are."""
    athlete_id = frozen[0].athlete_id
    definition = session.definition
    places = {
        (athlete_id, t.station): pins.get(t.station) or as_it_stands(definition, t)
        for t in frozen
        if t.station not in freed
    }
    content = session.publication.content
    occasion = Occasion(
        day=session.date,
        intent=intent_factor_of(content, session),
        caution=content["gym"]["caution"],
        pins=places,
        settings=load_settings([session.definition], today()),
    )
    names = TARGET_FIELDS[3:]
    for _, *values in target_values(session.definition, people, load_history(people.athletes), occasion):
        new = dict(zip(names, values, strict=True))
        target = next(t for t in frozen if t.station == new["station"])
        if target.station not in pins and target.station not in freed:
            continue
        if target.detail.get("walk_in"):
            new["detail"]["walk_in"] = True
        if target.station in pins and (before := _before(target)):
            new["detail"]["before"] = before
        for name in MOVED:
            setattr(target, name, new[name])


def _before(target: Target) -> dict | None:
    """What to come back to when a pin is taken off; None where it was published as set by hand."""
    if target.detail["bound"] == PINNED:
        return target.detail.get("before")
    return {name: getattr(target, name) for name in MOVED}


def _redraw_page(session: PublishedSession, athlete_id: int) -> None:
    sessions = list(session.publication.sessions.all())
    for _, page in phone.pages(session.publication, sessions, [athlete_id]):
        path = files.write(page, ".json")
        PersonalPage.objects.filter(publication=session.publication, athlete_id=athlete_id).update(path=path)
