"""The floor sheet: a class on one page for staff, by the station where everyone begins."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from zlib import crc32

from athletes.estimates.people import Restriction, restrictions_of
from athletes.gym.read import today
from athletes.words import clock, number
from sessions.boards.wall import board_lines
from sessions.circuits.definition import Station
from sessions.clock.classes import class_of
from sessions.clock.moment import shape_of
from sessions.clock.places import Place, class_attendance, deal
from sessions.clock.read import parts_with_circuits
from sessions.floor.cells import SheetCell, cell_of
from sessions.floor.read import class_logs, class_targets
from sessions.models import Log, PublishedSession
from sessions.weeks.days import standing_pins
from sessions.words.cards import option_name, rung_mark


@dataclass(frozen=True)
class SheetRow:
    """One athlete of the class. `came_at`: the class time where they came, None where nobody marked them."""

    athlete: int
    name: str
    board_name: str
    group: int
    turn: int
    walk_in: bool
    cells: tuple[SheetCell, ...]
    came_at: str | None
    log: str
    flags: tuple[str, ...]

    @property
    def tag(self) -> str:
        """Changes whenever the row looks different."""
        return f"{crc32(repr(self).encode()):x}"


@dataclass(frozen=True)
class Group:
    """Everyone who begins at one station, counted from 0."""

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
        for row in self.rows:
            found[row.group].rows.append(row)
        return found

    @property
    def stations(self) -> list[tuple[int, str, list[tuple[str, str]]]]:
        """Number and movement of each station, and its swaps by their marks."""
        stations = enumerate(self.session.definition.stations, start=1)
        return [(number, _movement(station), _swaps(station)) for number, station in stations]

    @property
    def columns(self) -> int:
        """Of the table, without those that are for a pen."""
        return len(self.session.definition.stations) + 3

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
    """Everyone of a live session, who is here first. Eight queries at most, however many they are."""
    targets = defaultdict(list)
    for target in class_targets(session):
        targets[target.athlete_id].append(target)
    lines = board_lines(session.publication, session)
    pins = {(pin.athlete_id, pin.station): pin for pin in standing_pins([session.key])}
    attendance, logs = class_attendance(session.class_key, session.date), class_logs(session.key, session.date)
    restrictions = restrictions_of(targets)
    rows = []
    for place in deal(shape_of(session.definition), lines, attendance, hour):  # as the wall and the clock have them
        athlete = place.line.athlete
        if own := targets.get(athlete):
            came_at, _ = attendance.get(athlete, (None, None))
            flags = [*_against(session, own, pins, restrictions.get(athlete, ())), *_flags(logs.get(athlete))]
            rows.append(_row(session, own, place, pins, came_at, logs.get(athlete), tuple(flags)))
    return Sheet(session, hour, today(), rows, class_of(session))


def _row(session: PublishedSession, own: list, place: Place, pins: dict, came_at, log: Log | None, flags) -> SheetRow:
    first = own[0]
    return SheetRow(
        athlete=first.athlete_id,
        name=first.athlete__name,
        board_name=first.athlete__board_name,
        group=place.group,
        turn=place.turn,
        walk_in=place.line.walk_in,
        cells=tuple(cell_of(session, target, pins.get((target.athlete_id, target.station))) for target in own),
        came_at=came_at,
        log=_log_text(log) if log else "",
        flags=flags,
    )


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


def _movement(station: Station) -> str:
    return station.options[0].movement.name
