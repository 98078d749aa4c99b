"""Who takes part in a class and where they begin, from who is expected, who came and what is fixed."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from athletes.models import Machine
from sessions.boards.wall import Line, board_lines
from sessions.circuits.definition import Definition
from sessions.models import Attendance, ClassRun, Coming, PublishedSession, Start
from sessions.places.deal import Floor, Person, Place, Room, deal

HABIT = timedelta(weeks=6)  # of classes that somebody came to, by which they are expected at that time again (ours)


@dataclass(frozen=True)
class Seat:
    """Where somebody of the board stands in a class. `place`: None where the machines do not suffice.

    `part`: takes part, as far as anybody knows; `fixed`: stays there, whoever else comes. `wave` 2 begins when the
    first is done. `came_at`: the class time at which they were marked that day, None where nobody marked them.
    """

    line: Line
    place: Place | None
    part: bool
    fixed: bool = False
    wave: int = 1
    came_at: str | None = None


@dataclass(frozen=True)
class Roll:
    """A circuit of a class at one of its times, and what is known of who comes.

    `known`: some chose this time or mostly come to it; else everyone is `expected` who did not choose another one.
    `begun`: its clock was started, for the `wave` that is on.
    """

    definition: Definition
    room: Room
    lines: list[Line]
    hour: str
    starts: dict[int, Start]
    came: dict[int, str]
    expected: frozenset[int]
    known: bool
    begun: bool
    wave: int

    @property
    def people(self) -> dict[int, Person]:
        return {line.athlete: person_of(self.definition, line) for line in self.lines}

    @property
    def called(self) -> bool:
        """Whether somebody of the board is marked as here: from then on only who is marked takes part."""
        return any(self.came.get(line.athlete) == self.hour for line in self.lines if not line.walk_in)

    def floor(self, wave: int = 1) -> Floor:
        """The machines that those in a wave use whose places are fixed."""
        return Floor(self.room, self._fixed(wave))

    def floor_without(self, athlete: int) -> Floor:
        """The machines that all others use: those with a fixed place, and before anybody is marked those expected."""
        people, fixed = self.people, self._fixed(self.wave)
        places = {person.id: place for person, place in fixed}
        if not (self.called or self.begun):
            places = {**self.dealt(), **places}
        return Floor(self.room, [(people[one], place) for one, place in places.items() if one != athlete])

    def waiting(self) -> list[Seat]:
        """Those for whom the machines do not suffice: of who is here, and before that of those known to come."""
        early = self.known and not (self.called or self.begun)
        return [s for s in self.seats() if s.part and s.place is None and (early or s.came_at == self.hour)]

    def crowded(self) -> set[int]:
        """Machine types of which more are asked for in some minute than there are: somebody's needs have changed."""
        return {machine for wave in (1, 2) for _, _, machine in self.floor(wave).crowded()}

    def dealt(self) -> dict[int, Place]:
        """Places of those expected who have none yet: around the fixed ones, or as before anybody was marked."""
        people = self.people
        if self.called or self.begun:
            return deal(self.room, [people[line.athlete] for line in self._expected() if not line.walk_in])[0]
        free = [people[line.athlete] for line in self._expected() if line.athlete not in self.starts]
        return deal(self.room, free, self._fixed(1))[0]

    def seats(self) -> list[Seat]:
        """Everyone of the board: who takes part first, by the station where they begin."""
        dealt = self.dealt()
        seats = [self._seat(line, dealt) for line in self.lines]
        return sorted(seats, key=lambda seat: (not seat.part, seat.wave, seat.place is None, _in_order(seat.place)))

    def _seat(self, line: Line, dealt: dict[int, Place]) -> Seat:
        came_at, start = self.came.get(line.athlete), self.starts.get(line.athlete)
        if start:
            return Seat(line, self._place(start), True, True, start.wave, came_at)
        if came_at == self.hour:
            return Seat(line, None, True, wave=self.wave, came_at=came_at)
        waits = not (self.called or self.begun) and line.athlete in self.expected
        return Seat(line, dealt.get(line.athlete), waits, came_at=came_at)

    def _expected(self) -> list[Line]:
        return [line for line in self.lines if line.athlete in self.expected]

    def _fixed(self, wave: int) -> list[tuple[Person, Place]]:
        people = self.people
        starts = [start for start in self.starts.values() if start.wave == wave and start.athlete_id in people]
        return [(people[start.athlete_id], self._place(start)) for start in starts]

    def _place(self, start: Start) -> Place:
        """Where somebody begins; a revision may have fewer stations, or no pairs any more."""
        group = start.group % self.room.stations
        return (
            Place(group, start.pair, start.turn)
            if self.room.partners > 1
            else Place(group, 2 * start.pair + start.turn)
        )


def roll_of(session: PublishedSession, hour: str, lines: list[Line] | None = None) -> Roll:
    """A session's class at one of its times; `lines` are its board's (`board_lines`), read here where not given.

    Seven queries at most, however many come.
    """
    lines = board_lines(session.publication, session) if lines is None else lines
    starts = Start.objects.filter(session_key=session.key, date=session.date, hour=hour)
    expected, known = expected_at(session, hour, [line.athlete for line in lines if line.active])
    runs = ClassRun.objects.filter(session_key=session.class_key, date=session.date, hour=hour, standing=True)
    wave = runs.values_list("wave", flat=True).first()
    return Roll(
        definition=session.definition,
        room=room_of(session.definition),
        lines=lines,
        hour=hour,
        starts={start.athlete_id: start for start in starts},
        came=came_to(session.class_key, session.date),
        expected=expected,
        known=known,
        begun=wave is not None,
        wave=wave or 1,
    )


def person_of(definition: Definition, line: Line) -> Person:
    """The machine types that somebody needs, from their cards; at rest none, with a coach what is written."""
    needs: list[int | None] = [None] * len(definition.stations)
    for card in line.cards:
        if not card.rest:
            machine = definition.stations[card.number - 1].options[max(card.rung, 0)].movement.machine
            needs[card.number - 1] = machine.id if machine else None
    return Person(line.athlete, tuple(needs))


def room_of(definition: Definition) -> Room:
    """Stations and machines. A type of which the gym has entered none may be used by everyone. One query.

    Off the clock everyone goes at their own speed and in order, and may use any machine.
    """
    if not definition.on_the_clock:
        machines = {o.movement.machine.id: 10_000 for o in definition.options if o.movement.machine}
        return Room(len(definition.stations), 1, machines)
    used = {option.movement.machine.id for option in definition.options if option.movement.machine}
    rows = Machine.objects.filter(type_id__in=used).values_list("type_id", "active")
    known = Counter({type_id: 0 for type_id, _ in rows})
    known.update(type_id for type_id, active in rows if active)
    free = {type_id: len(definition.stations) * 1000 for type_id in used - set(known)}
    return Room(len(definition.stations), definition.partners, {**known, **free})


def came_to(key: UUID, day: date) -> dict[int, str]:
    """The class time at which each athlete came that day. One query."""
    return dict(Attendance.objects.filter(session_key=key, date=day).values_list("athlete_id", "hour"))


def expected_at(session: PublishedSession, hour: str, athletes: Sequence[int]) -> tuple[frozenset[int], bool]:
    """Who is expected at a class time, and whether that is known: who chose it, and who mostly comes to it.

    As long as that is nobody, everyone who did not choose another one. Two queries, none where there is one time.
    """
    if len(session.hours) < 2:
        return frozenset(athletes), False
    chose = chosen_hours(session)
    planned = {**_usual_of(session, athletes), **chose}
    known = frozenset(athlete for athlete in athletes if planned.get(athlete) == hour)
    if known:
        return known, True
    return frozenset(athlete for athlete in athletes if chose.get(athlete, hour) == hour), False


def own_hours(session: PublishedSession, athletes: Iterable[int]) -> dict[int, str]:
    """The class time of each of these: where they are, or else the one they chose, or the usual one. Three queries."""
    here = came_to(session.class_key, session.date)
    return {**_usual_of(session, athletes), **chosen_hours(session), **here}


def _usual_of(session: PublishedSession, athletes: Iterable[int]) -> dict[int, str]:
    usual = usual_hours(session.date, athletes)
    return {athlete: hour for athlete, hour in usual.items() if hour in session.hours}


def chosen_hours(session: PublishedSession) -> dict[int, str]:
    """The class time that each athlete chose, where it is still one of the session's. One query."""
    chosen = Coming.objects.filter(session_key=session.class_key, date=session.date, hour__in=session.hours)
    return dict(chosen.values_list("athlete_id", "hour"))


def usual_hours(day: date, athletes: Iterable[int]) -> dict[int, str]:
    """The class time to which each athlete came most often in the six weeks before a day. One query."""
    came = Attendance.objects.filter(athlete_id__in=list(athletes), date__range=(day - HABIT, day - timedelta(days=1)))
    counts: dict[int, Counter[str]] = defaultdict(Counter)
    for athlete, hour in came.exclude(hour="").order_by("date").values_list("athlete_id", "hour"):
        counts[athlete][hour] += 1
    return {athlete: hours.most_common(1)[0][0] for athlete, hours in counts.items()}


def _in_order(place: Place | None) -> tuple[int, int, int]:
    return (place.group, place.pair, place.turn) if place else (0, 0, 0)
