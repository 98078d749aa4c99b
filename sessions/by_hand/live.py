"""Targets set by hand in a week that is live: they show at once, on the athlete's page and on the wall.

Only the station that was set moves; everything else stays as it was published. What stood there before is kept in the
row, and comes back when the pin is taken off.
"""

from collections.abc import Collection, Iterable
from dataclasses import replace
from datetime import timedelta

from django.db import transaction
from django.db.models import Q

from athletes.estimates.people import People, Restriction, load_people
from sessions.boards import files, phone
from sessions.by_hand.swap import as_they_stand
from sessions.class_versions import class_moved
from sessions.models import PersonalPage, Pin, Publication, PublishedSession, Target
from sessions.targets.compute import compute
from sessions.targets.detail import detail_of, read
from sessions.targets.detail import frozen as frozen_detail
from sessions.targets.history import load_history
from sessions.targets.occasion import Pins, allowed_rung
from sessions.weeks.days import occasions_of, standing_pins

BEFORE = timedelta(minutes=1)  # a pin made earlier may have been written later; applying one twice changes nothing
NUMBERS = ("rung", "dose", "load_kg", "rounds", "hold", "finish_by_s", "headroom", "probability", "sd_log")
MOVED = (*NUMBERS, "detail")
FORMER_NAMES = {"done_by_s": "finish_by_s"}  # in what was set by hand before method 4


@transaction.atomic
def apply_pins(session: PublishedSession, athletes: Collection[int]) -> None:
    """Bring these athletes' targets of a live session in line with the standing pins; doing it twice changes nothing.

    A few queries for all of them, and as many statements more as it takes to write that many rows; one file each.
    """
    rows = Target.objects.select_for_update().filter(session=session, athlete_id__in=athletes)
    frozen = list(rows.order_by("athlete_id", "station"))
    pins = {(pin.athlete_id, pin.station): pin for pin in standing_pins([session.key], athletes)}
    was = {target.pk: _figures(target) for target in frozen}
    people = load_people(sorted(athletes))
    places = {athlete.pk: row for row, athlete in enumerate(people.athletes)}
    standing = {}
    for target in frozen:
        pin = pins.get((target.athlete_id, target.station))
        limits = people.restrictions.get(places[target.athlete_id], ())
        if pin and _fits(session, target, pin, limits):
            standing[target.athlete_id, target.station] = pin
    freed = _take_back([target for target in frozen if _place(target) not in standing])
    if standing or freed:
        _work_out(session, frozen, standing, freed, people)
    Target.objects.bulk_update([target for target in frozen if _figures(target) != was[target.pk]], MOVED)
    class_moved(session)
    _redraw_pages(session, athletes)


def catch_up(publication: Publication) -> None:
    """Apply what was set by hand while a publication was being made."""
    publication.refresh_from_db(fields=["computed_at"])
    since = publication.computed_at - BEFORE
    sessions = {session.key: session for session in publication.sessions.filter(kept_from__isnull=True)}
    moved = Pin.objects.filter(Q(made_at__gte=since) | Q(taken_off_at__gte=since), session_key__in=sessions)
    found = set(moved.order_by().values_list("session_key", "athlete_id"))
    for key in {key for key, _ in found}:
        apply_pins(sessions[key], [athlete_id for of, athlete_id in found if of == key])


def _fits(session: PublishedSession, target: Target, pin: Pin, limits: Iterable[Restriction]) -> bool:
    return allowed_rung(session.definition.stations[target.station - 1], pin, limits, session.date) is not None


def _place(row: Target) -> tuple[int, int]:
    """Whose target, and at which station."""
    return row.athlete_id, row.station


def _figures(target: Target) -> list:
    return [getattr(target, name) for name in MOVED]


def _take_back(targets: list[Target]) -> set[tuple[int, int]]:
    """Put back what stood there before it was set by hand; the places published as set that stand free now."""
    details = [(target, detail_of(target)) for target in targets]
    for target, detail in details:
        for name, value in (detail.before or {}).items():
            setattr(target, FORMER_NAMES.get(name, name), value)
    return {_place(target) for target, detail in details if detail.by_hand and detail.before is None}


def _work_out(
    session: PublishedSession, frozen: list[Target], pins: Pins, freed: set[tuple[int, int]], people: People
) -> None:
    """The figures of what was set, and for freed stations what the method says; the others stay as they are."""
    definition = session.definition
    ((_, occasion),) = occasions_of(session.publication, [session])
    occasion = as_they_stand(occasion, definition, [t for t in frozen if _place(t) not in freed])
    occasion.pins.update(pins)
    history = load_history(people.athletes)
    targets = {_place(target): target for target in frozen}
    for found in compute(definition, people, history, occasion):
        place = (found.athlete, found.station)
        if place not in targets or (place not in pins and place not in freed):
            continue
        target = targets[place]
        before = _before(target) if place in pins else None
        detail = replace(read(found.detail), walk_in=detail_of(target).walk_in, before=before)
        for name in MOVED:
            setattr(target, name, getattr(found, name))
        target.detail = frozen_detail(detail)


def _before(target: Target) -> dict | None:
    """What to come back to when what was set is taken off; None where it was published as set by hand."""
    detail = detail_of(target)
    if detail.by_hand:
        return detail.before
    return {name: getattr(target, name) for name in MOVED}


def _redraw_pages(session: PublishedSession, athletes: Collection[int]) -> None:
    sessions = list(session.publication.sessions.all())
    made = dict(phone.pages(session.publication, sessions, sorted(athletes)))
    pages = list(PersonalPage.objects.filter(publication=session.publication, athlete_id__in=made))
    for page in pages:
        page.path = files.write(made[page.athlete_id], ".json")
    PersonalPage.objects.bulk_update(pages, ["path"])
