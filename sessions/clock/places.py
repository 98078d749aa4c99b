"""Where everyone of a class begins: who is here first, in the order in which they came, dealt over the stations."""

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from sessions.boards.wall import Line
from sessions.clock.moment import Shape, group_of
from sessions.models import Attendance


@dataclass(frozen=True)
class Place:
    """Where somebody begins: the group of a station and the turn of two partners, from 0. `here`: takes part, as far as
    anybody knows.
    """

    line: Line
    group: int
    turn: int
    here: bool


def deal(shape: Shape, lines: list[Line], attendance: dict[int, tuple[str, int | None]], hour: str) -> list[Place]:
    """The places of a class, from the lines of the board and `attendance` (`class_attendance`).

    Until somebody of the board is marked as here, everyone is taken to come, in the order of the board. From then on
    only who is marked takes part, and each keeps the place they got; the others keep theirs of the board meanwhile.
    """
    came = {athlete: place for athlete, (at, place) in attendance.items() if at == hour and place is not None}
    marked = any(line.athlete in came and not line.walk_in for line in lines)  # a walk-in alone is no roll
    places = []
    for order, line in enumerate(lines):
        here = marked and line.athlete in came
        places.append((not here, came[line.athlete] if here else order, line))
    places.sort(key=lambda place: place[:2])
    return [Place(line, *group_of(shape, order), here=not (marked and away)) for away, order, line in places]


def class_attendance(key: UUID, day: date) -> dict[int, tuple[str, int | None]]:
    """Class time at which each athlete came that day, and the place they have in it. One query."""
    rows = Attendance.objects.filter(session_key=key, date=day).values_list("athlete_id", "hour", "place")
    return {athlete: (hour, place) for athlete, hour, place in rows}
