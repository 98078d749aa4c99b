"""Who begins where, and everyone's doses in a class: small, made from the cards, for the wall and for one phone."""

from functools import lru_cache

from django.db.models import Count, F, FloatField, Max, Sum

from athletes.formatting import dose_parts
from athletes.models import Athlete
from sessions.boards.cards import Card, card_of, option_name, rung_mark
from sessions.boards.phone import FIELDS
from sessions.boards.wall import board_lines
from sessions.clock import group_of, shape_of
from sessions.models import PublishedSession, Target


def wall_plan(session: PublishedSession) -> dict:
    """What the wall shows beside the clock (`session` with its publication).

        {"name", "stations": [{"name", "unit", "rungs"}, …],
         "athletes": [{"name", "group", "turn", "doses": [[figure, unit, mark], …]}, …]}

    Kept in memory until a target of the session or somebody's name on the board changes; asking again: two queries.
    """
    facts = Target.objects.filter(publication=session.publication_id, session=session)
    # Weighted by the row, so that one athlete's less never hides behind another's more.
    weighted = [Sum(F(name) * F("id"), default=0, output_field=FloatField()) for name in ("dose", "rung", "load_kg")]
    mark = facts.aggregate(Count("id"), Max("id"), **dict(zip("drl", weighted, strict=True)))
    names = facts.order_by("athlete_id").values_list("athlete__board_name", flat=True).distinct()
    return _wall_plan(session, (*mark.values(), *names))


def phone_plan(session: PublishedSession, athlete: Athlete) -> dict | None:
    """One athlete's part: {"name", "group", "turn", "stations": [[movement, dose], …]}; None without targets."""
    place = next((line for line in wall_plan(session)["athletes"] if line["name"] == athlete.board_name), None)
    if place is None:
        return None
    targets = Target.objects.filter(publication=session.publication_id, session=session, athlete=athlete)
    rows = targets.order_by("station").values_list(*FIELDS, named=True)
    cards = [card_of(session.circuit, row, athlete.load_unit, explained=False) for row in rows]
    stations = [[card.movement, f"{card.dose} {card.unit}".strip()] for card in cards]
    return {"name": session.circuit["name"], "group": place["group"], "turn": place["turn"], "stations": stations}


@lru_cache(maxsize=8)
def _wall_plan(session: PublishedSession, mark: tuple) -> dict:
    shape = shape_of(session.circuit)
    athletes = []
    for place, line in enumerate(board_lines(session.publication, session)):
        group, turn = group_of(shape, place)
        athletes.append({"name": line.name, "group": group, "turn": turn, "doses": [*map(_dose, line.cards)]})
    stations = [_station(station) for station in session.circuit["stations"]]
    return {"name": session.circuit["name"], "stations": stations, "athletes": athletes}


def _dose(card: Card) -> list[str]:
    return ["", "rest", ""] if card.rest else [card.dose, card.unit, rung_mark(card.rung)]


def _station(station: dict) -> dict:
    first, *swaps = station["options"]
    rungs = [f"{rung_mark(rung)} {option_name(option)}" for rung, option in enumerate(swaps, start=1)]
    _, unit = dose_parts(first["dose_kind"], first["dose"], first["load_kg"])
    return {"name": first["movement"]["name"], "unit": unit, "rungs": rungs}
