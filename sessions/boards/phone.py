"""The personal pages: one small file per athlete and publication, with a piece of HTML per session of the week."""

import json
from collections import defaultdict
from collections.abc import Iterator
from math import ceil
from typing import Any

from django.template import engines

from athletes.words import clock
from sessions.circuits.definition import Definition
from sessions.models import Publication, PublishedSession, Target
from sessions.targets.detail import detail_of
from sessions.words import spoken
from sessions.words.cards import Card, card_of, is_first_time, setting_words, shape_words, stop_by

FIRST_TIME_WHY = "Nothing is known of you here yet. What you log becomes your first numbers."
FIELDS = ("session_id", "athlete_id", "station", "rung", "dose", "load_kg", "rounds", "hold", "finish_by_s")
FIELDS += ("headroom", "probability", "sd_log", "detail")


def pages(publication: Publication, sessions: list[PublishedSession], athletes: list[int]) -> Iterator[tuple[int, str]]:
    """(athlete id, page) of these athletes. One query, however many they are.

    A page says nothing of its revision: an athlete for whom nothing changed keeps the very same file.
    """
    template = engines["boards"].env.get_template("phone_session.html")
    rows = Target.objects.filter(publication=publication, athlete_id__in=athletes).order_by("station")
    by_page = defaultdict(list)
    for row in rows.values_list(*FIELDS, named=True):
        by_page[row.athlete_id, row.session_id].append(row)
    titles = {
        part.session: {"part_of": str(session.key), "title": part.title, "words": part.words}
        for session in sessions
        for part in session.class_parts
        if part.session and not part.main
    }
    heads = {session.pk: {**head(session), **titles.get(str(session.key), {})} for session in sessions}
    for athlete in athletes:
        parts = []
        for session in sessions:
            own = by_page[athlete, session.pk]
            if not own:  # a day that was over before this athlete came
                continue
            cards = [card_of(session.definition, row) for row in own]
            html = template.render(**_shown(session, cards), spoken=spoken, clock=_clock)
            parts.append(
                {
                    **heads[session.pk],
                    **_first(cards),
                    "html": html,
                    "log": to_log(session.definition, own, first_time=is_first_time(cards)),
                    **_whole(cards),
                }
            )
        yield athlete, json.dumps({"sessions": parts}, ensure_ascii=False)


def _first(cards: list[Card]) -> dict[str, bool]:
    return {"first_time": True} if is_first_time(cards) else {}


def _shown(session: PublishedSession, cards: list[Card]) -> dict[str, Any]:
    """What the page of a session is made of besides its head."""
    first_time, definition = is_first_time(cards), session.definition
    working = [card for card in cards if card.dose]
    minds: dict[str, list[str]] = defaultdict(list)
    for card in cards:
        if card.mind and not first_time:
            minds[card.mind].append(card.movement)
    return {
        "rows": [(card, *_load(card), setting_words(definition, card)) for card in cards],
        "cards": cards,
        "first_time": first_time,
        "timed": definition.on_the_clock,
        "interval_s": definition.interval_s,
        "rough": any(card.firmness == "rough" for card in working),
        "cautions": [f"{', '.join(names)}: {mind}" for mind, names in minds.items()],
        "why": [(FIRST_TIME_WHY, "")] if first_time else _why(cards),
        "how_to": any(card.cues or card.caution or card.setting for card in cards),
        "stop_by": {card.number: stop_by(definition, card) for card in cards},
    }


def _load(card: Card) -> tuple[str, str, str]:
    """(load, its unit, unit of the dose) of a card: a load stands with the movement, repetitions need no word."""
    if card.unit.startswith("× "):
        load, _, unit = card.unit.removeprefix("× ").partition(" ")
        return load, unit, ""
    return "", "", "" if card.unit.startswith("repetition") else card.unit


def _why(cards: list[Card]) -> list[tuple[str, str]]:
    """(movements, sentences), those alike together; nothing of what is as prescribed."""
    found: dict[str, list[str]] = defaultdict(list)
    for card in cards:
        if card.why:
            found[" ".join(card.why)].append(card.movement)
    return [(", ".join(names), sentences) for sentences, names in found.items()]


def _clock(seconds: str) -> str:
    """A second of the interval as the clock shows it: 0:42."""
    return clock(float(seconds), tenths=False)


def _whole(cards: list[Card]) -> dict:
    """Off the clock: what the whole is expected to come to."""
    return {"expected": cards[0].expected} if cards[0].expected else {}


def head(session: PublishedSession) -> dict:
    """What stands above a session's stations: with `parts` where the class has any."""
    circuit = session.definition
    parts = [
        {"heading": part.heading, "minutes": part.minutes, "words": part.words, "key": part.session, "main": part.main}
        for part in session.class_parts
    ]
    return {
        "key": str(session.key),
        "date": session.date.isoformat(),
        "hours": session.hours,
        "name": circuit.name,
        "intent": session.intent,
        "note": session.note,
        "caution": session.caution,
        "shape": shape_words(circuit),
        **({} if circuit.on_the_clock else {"format": circuit.format, "limit_s": circuit.limit_s}),
        "rotations": circuit.rotations,
        "minutes": ceil(circuit.minutes),
        "pairs": circuit.partners == 2,
        "parts": parts,
    }


def to_log(circuit: Definition, targets: list, *, first_time: bool = False) -> list[dict]:
    """The stations that can be logged, with what was asked in a round; where an athlete rests there is nothing to log.

    `written` is the coach's own dose: more of it may have been done than was asked. On a `first_time` nothing was
    asked: people go by feel, and say what they did.
    """
    found = []
    for target in targets:
        if target.rung < 0:
            continue
        option = circuit.option_of(target)
        found.append(
            {
                "station": target.station,
                "movement": option.movement.name,
                "kind": option.dose_kind,
                "written": option.dose,
                "dose": target.dose,
                "rounds": circuit.rotations if target.rounds is None else target.rounds,
                "load_kg": target.load_kg,
                "open_last": detail_of(target).open_last,
                **({"feel": True} if first_time else {}),
            }
        )
    return found
