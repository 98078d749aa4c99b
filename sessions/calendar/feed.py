"""An athlete's sessions as a calendar feed: RFC 5545, times in UTC, so that no reader needs the gym's time zone."""

from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from uuid import NAMESPACE_URL, uuid5
from zoneinfo import ZoneInfo

from django.urls import reverse
from icalendar import Calendar, Event

from sessions.models import PublishedSession, Target
from sessions.words.cards import CAUTION, Card, card_of, is_first_time

PRODUCT = "-//coachhub//personal calendar//EN"
REFRESH = timedelta(hours=1)  # how often a reader is asked to look again


def feed(
    gym_name: str,
    zone: ZoneInfo,
    sessions: list[tuple[PublishedSession, list[Target]]],
    site: str,
    hours: Mapping[int, str],
) -> bytes:
    """One event for each session, at the class time in `hours` that the athlete chose or comes to, by session; all day,
    with the times to choose from, where nobody knows. `site` is the address that people type: an event leads
    to the open page of its class, which names nobody.

    A session that is published again keeps its event's identity and raises its sequence (RFC 5545, 3.8.7.4).
    """
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", f"{gym_name}: my sessions")
    calendar.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    lines = {(str(session.key), session.date): _lines(session, targets) for session, targets in sessions}
    for session, _ in sessions:
        if session.part_of is None:
            calendar.add_component(_event(session, _class_lines(session, lines), hours.get(session.pk), zone, site))
    return calendar.to_ical()


def _event(session: PublishedSession, lines: list[str], hour: str | None, zone: ZoneInfo, site: str) -> Event:
    event = Event()
    event.add("uid", f"{uuid5(NAMESPACE_URL, f'{session.key}/{session.date}')}")
    event.add("dtstamp", session.publication.live_at)
    event.add("sequence", session.publication.revision)
    choose = f": choose {', '.join(session.hours)}" if hour is None and session.hours else ""
    event.add("summary", f"{session.definition.name} ({session.intent}){choose}")
    event.add("description", "\n".join([*lines, "", session.caution, CAUTION]))
    event.add("url", site + reverse("sessions:class-page", args=[session.key, session.date]))
    event.add("transp", "OPAQUE" if hour else "TRANSPARENT")
    for name, moment in zip(("dtstart", "dtend"), _span(session, hour, zone), strict=True):
        event.add(name, moment)
    return event


def _span(session: PublishedSession, hour: str | None, zone: ZoneInfo) -> tuple[date, date]:
    """From when to when; the whole day where there is no class time that is known."""
    if hour is None:
        return session.date, session.date + timedelta(days=1)
    start = datetime.combine(session.date, time.fromisoformat(hour), tzinfo=zone).astimezone(ZoneInfo("UTC"))
    return start, start + timedelta(seconds=session.lasts_s)


def _lines(session: PublishedSession, targets: list[Target]) -> list[str]:
    cards = [card_of(session.definition, target, explained=False) for target in targets]
    return [_line(card, is_first_time(cards)) for card in cards]


def _class_lines(session: PublishedSession, lines: dict[tuple[str, date], list[str]]) -> list[str]:
    """A class's parts in order, each with the doses of its circuit; of a class without parts the doses alone."""
    if not session.class_parts:
        return lines[str(session.key), session.date]
    found: list[str] = []
    for part in session.class_parts:
        words = f": {part.words}" if part.words else ""
        found += [f"{part.minutes} min {part.heading}{words}", *lines.get((part.session, session.date), [])]
    return found


def _line(card: Card, first_time: bool) -> str:
    if card.with_coach or (first_time and card.dose):
        return f"{card.number} {card.movement}: {'with your coach' if card.with_coach else 'by feel'}"
    dose = "rest" if card.rest else f"{card.dose} {card.unit}"
    return f"{card.number} {card.movement}: {dose}{f', hold {card.hold} {card.hold_unit}' if card.hold else ''}"
