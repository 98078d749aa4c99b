"""The floor sheet: a class on one page for staff, by the station where everyone begins."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from math import ceil
from zlib import crc32

from athletes.estimates.people import Restriction, restrictions_of
from athletes.gym.read import today
from athletes.words import clock, number
from sessions.boards.wall import board_lines
from sessions.circuits.definition import Station
from sessions.floor.cells import SheetCell, cell_of
from sessions.floor.read import class_logs, class_targets
from sessions.models import Log, PublishedSession
from sessions.places.read import Seat, roll_of
from sessions.targets.detail import Swap, detail_of
from sessions.weeks.days import standing_pins
from sessions.weeks.published import class_of, parts_with_circuits
from sessions.words.cards import is_first_time, option_name, rung_mark, written_dose

MOST_TO_LOOK_AT = 8
NO_PLACE = 99  # the last group of the sheet


@dataclass(frozen=True)
class SheetRow:
    """One athlete of the class. `came_at`: the class time where they came, None where nobody marked them. `group`: the
    station where they begin, from 0, None where nobody knows or, if they wait, the machines do not suffice; `part`:
    takes part, as far as anybody knows.
    `notes` are what a coach looks at before they begin.
    """

    athlete: int
    name: str
    board_name: str
    group: int | None
    turn: int
    wave: int
    part: bool
    waits: bool
    walk_in: bool
    cells: tuple[SheetCell, ...]
    came_at: str | None
    log: str
    notes: tuple[str, ...]
    flags: tuple[str, ...]

    @property
    def place(self) -> int:
        """The group where they stand on the sheet."""
        return NO_PLACE if self.group is None else self.group

    @property
    def tag(self) -> str:
        """Changes whenever the row looks different."""
        return f"{crc32(repr(self).encode()):x}"


@dataclass(frozen=True)
class Group:
    """Everyone who begins at one station, counted from 0; in the last one, without a name, who has no place."""

    number: int
    movement: str
    rows: list[SheetRow]


@dataclass(frozen=True)
class Sheet:
    """A class at one of its times, seen on `day`."""

    session: PublishedSession
    hour: str
    day: date
    rows: list[SheetRow]
    whole: PublishedSession

    @property
    def class_pk(self) -> int:
        return self.whole.pk

    @property
    def part_title(self) -> str:
        return self.whole.class_parts[self.session.place].title

    @property
    def sheets(self) -> list[tuple[int, str]]:
        """The floor sheets of a class's parts, in order."""
        own = parts_with_circuits(self.whole)
        return [(own[part.session].pk, part.heading) for part in self.whole.class_parts if part.session in own]

    @property
    def groups(self) -> list[Group]:
        found = [Group(s, _movement(station), []) for s, station in enumerate(self.session.definition.stations)]
        rest = Group(NO_PLACE, "", [])
        for row in self.rows:
            (found[row.place] if row.place < len(found) else rest).rows.append(row)
        return [*found, rest]

    @property
    def stations(self) -> list[tuple[int, str, str, list[tuple[str, str]]]]:
        """Number, movement and written dose of each station, and its swaps by their marks."""
        stations = enumerate(self.session.definition.stations, start=1)
        return [(number, _movement(s), _written(s), _swaps(s)) for number, s in stations]

    @property
    def minutes(self) -> int:
        return ceil(self.session.lasts_s / 60)

    @property
    def look(self) -> list[SheetRow]:
        """Who needs a look before the class begins."""
        return [row for row in self.rows if row.part and row.notes][:MOST_TO_LOOK_AT]

    @property
    def columns(self) -> int:
        """Of the table, without those that are for a pen."""
        return len(self.session.definition.stations) + 2

    @property
    def dealt(self) -> bool:
        """Whether everyone begins at a station of their own; off the clock all go in order."""
        return self.session.definition.on_the_clock

    @property
    def pairs(self) -> bool:
        return self.session.definition.partners == 2

    @property
    def today(self) -> bool:
        return self.session.date == self.day

    @property
    def changes(self) -> bool:
        """Whether doses can still be changed."""
        return self.session.date >= self.day

    @property
    def counts(self) -> bool:
        """Whether it is time for attendance and logs."""
        return self.session.date <= self.day

    @property
    def came(self) -> int:
        return sum(row.came_at == self.hour for row in self.rows)

    @property
    def logged(self) -> int:
        return sum(bool(row.log) for row in self.rows)


def sheet_of(session: PublishedSession, hour: str) -> Sheet:
    """Everyone of a live session, who is here first. A constant number of queries, however many they are."""
    targets = defaultdict(list)
    for target in class_targets(session):
        targets[target.athlete_id].append(target)
    lines = board_lines(session.publication, session)
    pins = {(pin.athlete_id, pin.station): pin for pin in standing_pins([session.key])}
    logs, restrictions = class_logs(session.key, session.date), restrictions_of(targets)
    rows = []
    for seat in roll_of(session, hour, lines).seats():  # as the wall and the phones have them
        athlete = seat.line.athlete
        if own := targets.get(athlete):
            against = _against(session, own, pins, restrictions.get(athlete, ()))
            flags = (*against, *_flags(logs.get(athlete)))
            rows.append(_row(session, own, seat, pins, logs.get(athlete), flags))
    return Sheet(session, hour, today(), rows, class_of(session))


def _row(session: PublishedSession, own: list, seat: Seat, pins: dict, log: Log | None, flags: tuple) -> SheetRow:
    first = own[0]
    first_time = is_first_time(seat.line.cards)
    return SheetRow(
        athlete=first.athlete_id,
        name=first.athlete__name,
        board_name=first.athlete__board_name,
        group=seat.place.group if seat.place and session.definition.on_the_clock else None,
        turn=seat.place.turn if seat.place else 0,
        wave=seat.wave,
        part=seat.part,
        waits=seat.part and seat.place is None,
        walk_in=seat.line.walk_in,
        cells=tuple(
            cell_of(session, target, pins.get((target.athlete_id, target.station)), first_time) for target in own
        ),
        came_at=seat.came_at,
        log=_log_text(log) if log else "",
        notes=tuple(_notes(own, first_time)),
        flags=flags,
    )


def _notes(own: list, first_time: bool) -> Iterator[str]:
    """What a coach looks at before somebody begins; no limitation is named, for the sheet lies open in the room."""
    details = [detail_of(target) for target in own]
    if first_time:
        yield "first time: by feel"
    if any(detail.with_coach for detail in details):
        yield "set with the coach"
    if week := max((detail.week for detail in details), default=0):
        yield f"back, week {week}"
    if any(detail.swap == Swap.FORBIDDEN for detail in details):
        yield "another movement for now"


def _against(session: PublishedSession, own: list, pins: dict, restrictions: Iterable[Restriction]) -> Iterator[str]:
    """Stations where somebody stands against a limitation that was entered since the target was set."""
    known = session.publication.computed_at or session.publication.requested_at
    for target in own:
        if target.rung < 0:
            continue
        pin = pins.get((target.athlete_id, target.station))
        since = pin.made_at if pin else known
        movement = session.definition.stations[target.station - 1].options[target.rung].movement
        later = [restriction for restriction in restrictions if restriction.entered_at > since]
        if any(r.forbids(session.date, movement.id, movement.involvement) for r in later):
            yield f"limitation: swap {target.station}"


def _log_text(log: Log) -> str:
    rpe = "logged" if log.rpe is None else f"RPE {number(log.rpe)}"
    came_to = f", {clock(log.time_s, tenths=False)}" if log.time_s else ""
    return f"{rpe}{came_to}, {'phone' if log.source == Log.Source.PHONE else 'floor'}"


def _flags(log: Log | None) -> tuple[str, ...]:
    said = {"pain": log and log.pain, "stopped early": log and log.stopped}
    return tuple(word for word, holds in said.items() if holds)


def _swaps(station: Station) -> list[tuple[str, str]]:
    return [(rung_mark(rung), option_name(option)) for rung, option in enumerate(station.options) if rung]


def _written(station: Station) -> str:
    """The written dose above a column; repetitions are told by having no unit."""
    words = written_dose(station.prescribed)
    return words.partition(" repetition")[0] if station.prescribed.dose_kind == "repetitions" else words


def _movement(station: Station) -> str:
    return station.options[0].movement.name
