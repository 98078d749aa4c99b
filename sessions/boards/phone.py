"""The personal pages: one small file per athlete and publication, with a piece of HTML per session of the week."""

import json
from collections import defaultdict
from collections.abc import Iterator

from django.template import engines

from athletes.models import Athlete
from sessions.boards.cards import card_of
from sessions.models import Publication, PublishedSession, Target

FIELDS = ("session_id", "athlete_id", "station", "rung", "dose", "load_kg", "hold", "done_by_s")
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
    heads = {session.pk: head(session) for session in sessions}
    for athlete in athletes:
        parts = []
        for session in sessions:
            cards = [card_of(session.circuit, row, units[athlete]) for row in by_page[athlete, session.pk]]
            if not cards:  # a day that was over before this athlete came
                continue
            html = template.render(cards=cards, interval_s=session.circuit["interval_s"])
            parts.append({**heads[session.pk], "html": html})
        yield athlete, json.dumps({"sessions": parts}, ensure_ascii=False)


def head(session: PublishedSession) -> dict:
    """What stands above a session's stations."""
    circuit = session.circuit
    minutes = len(circuit["stations"]) * circuit["interval_s"] * circuit["rotations"] / 60
    return {
        "key": str(session.key),
        "date": session.date.isoformat(),
        "hours": session.hours,
        "name": circuit["name"],
        "intent": session.intent,
        "note": session.note,
        "stations": len(circuit["stations"]),
        "rotations": circuit["rotations"],
        "interval_s": circuit["interval_s"],
        "minutes": round(minutes),
    }
