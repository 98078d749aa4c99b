"""Who begins where in a class, and everyone's doses: made from the cards, for the wall and for one phone."""

from datetime import datetime
from functools import lru_cache
from typing import Any

from athletes.models import Athlete, Machine
from athletes.words import dose_parts
from sessions.boards.wall import board
from sessions.circuits.definition import Definition, Station
from sessions.class_versions import class_version
from sessions.models import PublishedSession
from sessions.places.read import Roll, Seat, own_hours, roll_of, usual_hours
from sessions.weeks.published import parts_with_circuits
from sessions.words.cards import (
    Card,
    is_first_time,
    option_name,
    rung_mark,
    setting_words,
    shape_words,
    stop_by,
    written_dose,
    written_load,
)


def wall_plan(session: PublishedSession, hour: str) -> dict[str, Any]:
    """What the wall shows of a class (`session` with its publication), before it and while its clock runs.

        {"name", "hour", "intent", "hot", "wave", "rounds", "interval_s",
         "stations": [{"name", "unit", "written", "window", "swaps": [[mark, name], …]}, …],
         "people": [{"name", "group", "pair", "turn", "doses": [dose, …]}, …], "waiting": [name, …], "later": [name, …]}

    A dose is {"dose", "unit", "load", "mark", "by", "rounds", "hand"}, without what is empty; where there is no number,
    "words" says what is there instead. `waiting` are those for whom the machines do not suffice, `later` those of the
    next wave. Off the clock "board" is the HTML of everyone's doses. A class of several parts has them in "parts"
    besides, each with "title", "heading" and "words", and where it has a circuit with that circuit's plan.

    Kept in memory until the version of the class moves, a machine, somebody's name or who is expected; asking again
    costs three queries, four where there are several class times.
    """
    own = {key: _made(part, hour).wall for key, part in parts_with_circuits(session).items()}
    return {**own[str(session.key)], **_in_parts(session, own)}


def wall_before(session: PublishedSession, starts: datetime) -> dict[str, Any]:
    """The plan of a class that has not begun, with the moment when it is to [ms] and how it runs."""
    hour = f"{starts:%H:%M}" if session.hours else ""
    facts = {
        "starts_ms": int(starts.timestamp() * 1000) if session.hours else None,
        "day": session.date.isoformat(),
        "shape": shape_words(session.definition),
        "note": session.note,
        "week_note": session.publication.content["note"],
        "headings": [[part.minutes, part.heading] for part in session.class_parts],
    }
    return {**wall_plan(session, hour), **facts}


def phone_plan(session: PublishedSession, hour: str, athlete: Athlete) -> dict[str, Any] | None:
    """One athlete's part of a class; None without targets.

        {"name", "session", "published", "date", "hour", "hours", "here", "waits", "group", "turn", "wave", "now",
         "stations": [{"movement", "dose", "unit", "hold", "hold_unit", "rhythm", "by", "rounds", "setting", "was",
         "words"}, …]}

    `group` is None as long as nobody knows where they begin, `here` whether they are marked, `now` the wave that is on.
    Parts are as on the wall.
    """
    own = {key: _phone_part(part, hour, athlete.pk) for key, part in parts_with_circuits(session).items()}
    main = own[str(session.key)]
    if main is None:
        return None
    facts = {"session": str(session.key), "date": session.date.isoformat(), "hours": session.hours, "hour": hour}
    facts["published"] = session.pk
    return {**main, **facts, **_in_parts(session, {key: plan for key, plan in own.items() if plan})}


def own_hour(session: PublishedSession, athlete: Athlete) -> str:
    """The class time at which an athlete is expected; empty where nobody knows and there are several. Three queries."""
    if len(session.hours) < 2:
        return session.hours[0] if session.hours else ""
    return own_hours(session, [athlete.pk]).get(athlete.pk, "")


def parts_named(session: PublishedSession) -> list[dict[str, Any]]:
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


class _Plan:
    """A circuit of a class as it is now: its wall, and everyone's seat by athlete."""

    def __init__(self, session: PublishedSession, found: Roll):
        self.session, self.found = session, found
        self.waiting = {seat.line.athlete: seat for seat in found.waiting()}
        self.seats = {seat.line.athlete: seat for seat in found.seats()}
        self.wall = self._wall()

    def _wall(self) -> dict[str, Any]:
        definition, found = self.session.definition, self.found
        taking_part = [seat for seat in self.seats.values() if seat.part]
        now = [seat for seat in taking_part if seat.wave == found.wave]
        # Before anybody is marked nobody knows who of a large roster comes: no names are better than some of them.
        open_roll = not (found.called or found.begun or found.known) and any(not seat.place for seat in now)
        plan = {
            "name": definition.name,
            "hour": found.hour,
            "intent": self.session.intent,
            "hot": bool(self.session.caution),
            "wave": found.wave,
            "rounds": definition.rotations,
            "interval_s": definition.interval_s,
            "stations": [_station(station) for station in definition.stations],
            "people": [_on_wall(definition, seat) for seat in now if seat.place and not open_roll],
            "waiting": [seat.line.name for seat in self.waiting.values() if seat.wave == found.wave],
            "later": [seat.line.name for seat in taking_part if seat.wave > found.wave],
        }
        if not definition.on_the_clock:  # everyone goes at their own speed: the whole board
            here = {seat.line.athlete for seat in taking_part}
            plan["board"] = board(self.session, [line for line in found.lines if line.athlete in here])
        return plan


def _made(session: PublishedSession, hour: str) -> _Plan:
    people = session.targets.order_by("athlete_id").distinct()
    people = tuple(people.values_list("athlete_id", "athlete__board_name", "athlete__active"))
    usual = usual_hours(session.date, [pk for pk, _, active in people if active]) if len(session.hours) > 1 else {}
    machines = Machine.objects.filter(active=True).order_by("pk").values_list("pk", flat=True)
    return _make(session, hour, (class_version(session), tuple(machines), people, tuple(sorted(usual.items()))))


@lru_cache(maxsize=48)
def _make(session: PublishedSession, hour: str, mark: tuple) -> _Plan:
    return _Plan(session, roll_of(session, hour))


def _in_parts(session: PublishedSession, plans: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """The parts of a class with what is shown of each; nothing where the class is its circuit alone."""
    parts = [
        {"title": part.title, "heading": part.heading, "words": part.words, **plans.get(part.session, {})}
        for part in session.class_parts
    ]
    return {"parts": parts} if parts else {}


def _phone_part(session: PublishedSession, hour: str, athlete: int) -> dict[str, Any] | None:
    made = _made(session, hour)
    seat = made.seats.get(athlete)
    if seat is None:
        return None
    told = bool(hour) or not session.hours
    place = seat.place if told and seat.part else None  # where others may stand by now is no place to go to
    cards = seat.line.cards
    first_time = is_first_time(cards)
    plan = {
        "name": session.definition.name,
        "here": seat.came_at is not None and seat.came_at == hour,
        "group": place.group if place else None,
        "turn": place.turn if place else 0,
        "wave": seat.wave,
        "now": made.found.wave,
        "waits": told and athlete in made.waiting,
        "stations": [_on_phone(session.definition, card, first_time) for card in cards],
    }
    return {**plan, **({"expected": cards[0].expected} if cards[0].expected else {})}


def _on_wall(definition: Definition, seat: Seat) -> dict[str, Any]:
    first_time = is_first_time(seat.line.cards)
    doses = [_dose(definition, card, first_time) for card in seat.line.cards]
    place = {"group": seat.place.group, "pair": seat.place.pair, "turn": seat.place.turn} if seat.place else {}
    return {"name": seat.line.name, **place, "doses": doses}


def _dose(definition: Definition, card: Card, first_time: bool) -> dict[str, Any]:
    """A dose as the wall shows it; nobody's first time is a figure in front of everyone."""
    if not card.dose:
        return {"words": "with coach" if card.with_coach else "rest"}
    if first_time:
        mark = {"mark": rung_mark(card.rung)} if card.rung > 0 else {}
        return {"words": "by feel", "by": stop_by(definition, card), **mark}
    load = card.unit.removeprefix("× ") if card.unit.startswith("× ") else ""
    facts = {
        "dose": card.dose,
        "unit": "" if load or card.unit.startswith("repetition") else card.unit,
        "load": load,
        "mark": rung_mark(card.rung),
        "by": int(card.finish_by or 0),
        "rounds": card.first_rounds,
        "hand": bool(card.by_hand),
    }
    return {name: value for name, value in facts.items() if value}


def _on_phone(definition: Definition, card: Card, first_time: bool) -> dict[str, Any]:
    """A dose as the card on the phone shows it, without what is empty."""
    facts: dict[str, Any] = {"movement": card.movement}
    if not card.dose:
        return {**facts, "words": "with your coach" if card.with_coach else "rest"}
    if first_time:
        return {
            **facts,
            "words": "by feel",
            "by": stop_by(definition, card),
            "setting": setting_words(definition, card),
        }
    more = {
        "dose": card.dose,
        "unit": "" if card.unit.startswith("repetition") else card.unit,
        "hold": card.hold,
        "hold_unit": card.hold_unit,
        "rhythm": card.rhythm,
        "by": int(card.finish_by or 0),
        "rounds": card.first_rounds,
        "setting": setting_words(definition, card),
        "was": card.was,
    }
    return {**facts, **{name: value for name, value in more.items() if value}}


def _station(station: Station) -> dict[str, Any]:
    first, *swaps = station.options
    names = [[rung_mark(rung), option_name(option)] for rung, option in enumerate(swaps, start=1)]
    _, unit = dose_parts(first.dose_kind, first.dose, first.load_kg)
    if first.loaded:
        unit = f"× at {written_load(first)}" if not first.load_kg else "× load"
    unit = "" if unit.startswith("repetition") else unit
    return {
        "name": first.movement.name,
        "unit": unit,
        "written": written_dose(first),
        "swaps": names,
        "window": station.work_window_s,
    }
