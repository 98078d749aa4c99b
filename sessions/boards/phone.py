"""The personal pages: one small file per athlete and publication, with a piece of HTML per session of the week."""

import json
from collections import defaultdict
from collections.abc import Iterator

from django.template import engines

from athletes.models import Athlete
from sessions.circuits.definition import Definition
from sessions.models import Publication, PublishedSession, Target
from sessions.targets.detail import detail_of
from sessions.words import spoken
from sessions.words.cards import Card, card_of, shape_words

FIELDS = ("session_id", "athlete_id", "station", "rung", "dose", "load_kg", "rounds", "hold", "finish_by_s")
FIELDS += ("headroom", "probability", "sd_log", "detail")


def pages(publication: Publication, sessions: list[PublishedSession], athletes: list[int]) -> Iterator[tuple[int, str]]:
    """(athlete id, page) of these athletes. Two queries, however many they are.

    A page says nothing of its revision: an athlete for whom nothing changed keeps the very same file.
    """
    template = engines["boards"].env.get_template("phone_session.html")
    units = dict(Athlete.objects.filter(pk__in=athletes).values_list("pk", "load_unit"))
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
            cards = [card_of(session.definition, row, units[athlete]) for row in own]
            html = template.render(cards=cards, interval_s=session.definition.interval_s, spoken=spoken)
            parts.append({**heads[session.pk], "html": html, "log": to_log(session.definition, own), **_whole(cards)})
        yield athlete, json.dumps({"sessions": parts}, ensure_ascii=False)


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
        "parts": parts,
    }


def to_log(circuit: Definition, targets: list) -> list[dict]:
    """The stations that can be logged, with what was asked in a round; where an athlete rests there is nothing to log.

    `written` is the coach's own dose: more of it may have been done than was asked.
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
            }
        )
    return found
