"""Who begins where, and everyone's doses in a class: small, made from the cards, for the wall and for one phone."""

from functools import lru_cache

from django.db.models import Count, F, FloatField, Max, Sum

from athletes.models import Athlete
from athletes.words import dose_parts
from sessions.boards import files
from sessions.boards.phone import FIELDS
from sessions.boards.wall import board_lines
from sessions.circuits.definition import Station
from sessions.clock.moment import shape_of
from sessions.clock.places import Place, class_attendance, deal
from sessions.clock.read import parts_with_circuits
from sessions.models import PublishedSession, Target
from sessions.words.cards import Card, card_of, option_name, rung_mark, written_load


def wall_plan(session: PublishedSession, hour: str) -> dict:
    """What the wall shows beside the clock of a class (`session` with its publication): everyone who takes part.

        {"name", "stations": [{"name", "unit", "rungs"}, …],
         "athletes": [{"name", "group", "turn", "doses": [[figure, unit, mark], …]}, …]}

    A dose of the first rounds only has their number as well. A class of several parts has them in order besides, each
    with "title" and "words", and where it has a circuit with its own name, stations and athletes.

    Kept in memory until a target of the session, somebody's name on the board or who came changes; asking again: three
    queries.
    """
    if not session.class_parts:
        return _wall_part(session, hour)
    own = parts_with_circuits(session)
    made = {key: _wall_part(part, hour) for key, part in own.items()}
    return {**made[str(session.key)], **_in_parts(session, made)}


def phone_plan(session: PublishedSession, hour: str, athlete: Athlete) -> dict | None:
    """One athlete's part: {"name", "group", "turn", "stations": [[movement, dose], …]}; None without targets.

    A dose of the first rounds only has their number as well; parts are as on the wall.
    """
    own = {key: _phone_plan(part, hour, athlete) for key, part in parts_with_circuits(session).items()}
    main = own[str(session.key)]
    return main and {**main, **_in_parts(session, {key: plan for key, plan in own.items() if plan})}


def _wall_part(session: PublishedSession, hour: str) -> dict:
    """A circuit's plan; off the clock with its board, for everyone goes at their own speed."""
    made = _made(session, hour)[0]
    if session.definition.on_the_clock or not session.wall_page:
        return made
    return {**made, "board": files.read(session.wall_page).decode()}


def parts_named(session: PublishedSession) -> list[dict]:
    """The parts of a class as pages that steer or follow its clock name them, with the stations of each.

    A circuit alone is one part. One query, none where no part has a circuit of its own.
    """
    own = parts_with_circuits(session)
    names = {key: [s.prescribed.movement.name for s in part.definition.stations] for key, part in own.items()}
    if not session.class_parts:
        return [{"title": "", "heading": session.definition.name, "stations": names[str(session.key)]}]
    return [
        {"title": part.title, "heading": part.heading, "stations": names.get(part.session, [])}
        for part in session.class_parts
    ]


def _in_parts(session: PublishedSession, plans: dict[str, dict]) -> dict:
    """The parts of a class with what is shown of each; nothing where the class is its circuit alone."""
    parts = [
        {"title": part.title, "heading": part.heading, "words": part.words, **plans.get(part.session, {})}
        for part in session.class_parts
    ]
    return {"parts": parts} if parts else {}


def _phone_plan(session: PublishedSession, hour: str, athlete: Athlete) -> dict | None:
    place = _made(session, hour)[1].get(athlete.pk)
    if place is None:
        return None
    targets = Target.objects.filter(publication=session.publication_id, session=session, athlete=athlete)
    rows = targets.order_by("station").values_list(*FIELDS, named=True)
    cards = [card_of(session.definition, row, athlete.load_unit, explained=False) for row in rows]
    stations = [[card.movement, _phone_dose(card), *_first_rounds(card)] for card in cards]
    expected = {"expected": cards[0].expected} if cards[0].expected else {}
    return {
        "name": session.definition.name,
        "group": place.group,
        "turn": place.turn,
        "stations": stations,
        **expected,
    }


def _made(session: PublishedSession, hour: str) -> tuple[dict, dict[int, Place]]:
    """The wall's plan, and everyone's place by athlete."""
    facts = Target.objects.filter(publication=session.publication_id, session=session)
    # Weighted by the row, so that one athlete's less never hides behind another's more.
    weighted = {
        f"of_{name}": Sum(F(name) * F("id"), default=0, output_field=FloatField())
        for name in ("dose", "rung", "load_kg", "rounds")
    }
    mark = facts.aggregate(Count("id"), Max("id"), **weighted)
    names = facts.order_by("athlete_id").values_list("athlete__board_name", flat=True).distinct()
    attendance = class_attendance(session.class_key, session.date)
    return _make(session, hour, (*mark.values(), *names, *sorted(attendance.items())))


@lru_cache(maxsize=24)
def _make(session: PublishedSession, hour: str, mark: tuple) -> tuple[dict, dict[int, Place]]:
    attendance = class_attendance(session.class_key, session.date)
    places = deal(shape_of(session.definition), board_lines(session.publication, session), attendance, hour)
    athletes = [
        {"name": place.line.name, "group": place.group, "turn": place.turn, "doses": [*map(_dose, place.line.cards)]}
        for place in places
        if place.here
    ]
    stations = [_station(station) for station in session.definition.stations]
    plan = {"name": session.definition.name, "stations": stations, "athletes": athletes}
    return plan, {place.line.athlete: place for place in places}


def _dose(card: Card) -> list[str | int]:
    if not card.dose:
        return ["", "with coach" if card.with_coach else "rest", ""]
    return [card.dose, card.unit, rung_mark(card.rung), *_first_rounds(card)]


def _phone_dose(card: Card) -> str:
    return "with your coach" if card.with_coach else f"{card.dose} {card.unit}".strip()


def _first_rounds(card: Card) -> list[int]:
    return [] if card.first_rounds is None else [card.first_rounds]


def _station(station: Station) -> dict:
    first, *swaps = station.options
    rungs = [f"{rung_mark(rung)} {option_name(option)}" for rung, option in enumerate(swaps, start=1)]
    _, unit = dose_parts(first.dose_kind, first.dose, first.load_kg)
    if first.loaded and not first.load_kg:
        unit = f"× at {written_load(first)}"
    return {"name": first.movement.name, "unit": unit, "rungs": rungs}
