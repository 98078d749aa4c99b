"""Where a class stands, from the shape of its parts, its start and the changes since. Knows neither Django nor models.

Every moment is a whole number of milliseconds since 1970 (UTC), so that time zones and their changes play no part.
`static/sessions/clock/clock.js` is the same in the screens' language, so that they go on alone when the network drops;
both are held to tests/clock/clock_cases.json. Changes count in the order of their moments, however late they arrive.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from math import ceil
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sessions.circuits.definition import Definition


READY_S = 10
FORGOTTEN_MS = 3_600_000  # a pause longer than this and the whole session together ends the class
CIRCUIT, WORDS = "every", "words"


@dataclass(frozen=True)
class Shape:
    """What the clock needs of a circuit: the work window of each station, and seconds to get ready in.

    With two `partners` a station lasts two intervals: one works, then the other. A part of a class that is words alone,
    of the `kind` "words", or not on the clock, "for_time" or "as_many", is one interval. A class of several `parts`
    has a shape for each, in order, and itself the numbers of its circuit, which is the part `main`; getting ready comes
    before each part that has any.
    """

    windows_s: tuple[int, ...]
    interval_s: int
    rounds: int
    partners: int = 1
    ready_s: int = READY_S
    kind: str = CIRCUIT
    parts: tuple["Shape", ...] = ()
    main: int = 0

    @property
    def round_steps(self) -> int:
        """Intervals in a round."""
        return len(self.windows_s) * self.partners

    @property
    def in_order(self) -> tuple["Shape", ...]:
        """Its parts; a circuit alone is one part."""
        return self.parts or (self,)

    @property
    def total_ms(self) -> int:
        """Of a circuit or of one part, without getting ready."""
        return 1000 * self.interval_s * self.round_steps * self.rounds


@dataclass(frozen=True)
class Change:
    """What a coach pressed, and when. `value`: the interval to go to, counted from 0, the new number of rounds, the
    part to go to, from 0, or the seconds that the part now lasts; all but the part are of the one that is on.
    """

    at_ms: int
    kind: str  # pause, resume, jump, rounds, part, length, end
    value: int = 0


@dataclass(frozen=True)
class Moment:
    """Where a class stands. `step` counts intervals of the part from 0, `shift` how many stations everyone has moved on
    by.
    """

    state: str  # ready, running, paused, over
    phase: str  # ready, work, rest, over
    round: int
    rounds: int
    step: int
    shift: int
    turn: int  # which of two partners works, from 0
    second: int  # whole seconds of the interval that are over
    left_ms: int  # until the interval ends, or until the first one begins
    part: int  # which part is on, from 0
    length_s: int  # of an interval of that part


@dataclass(frozen=True)
class Course:
    """How the class runs since `at_ms`: in its `part` from the position [ms] of that part on, after `lead_ms` of
    getting ready. `positions` also keeps how far the other parts came.
    """

    at_ms: int
    part: int
    positions: tuple[int, ...]
    lead_ms: int
    parts: tuple[Shape, ...]
    running: bool = True
    ended: bool = False

    @property
    def now(self) -> Shape:
        return self.parts[self.part]

    @property
    def position_ms(self) -> int:
        return self.positions[self.part]

    @property
    def finished(self) -> bool:
        return self.part == len(self.parts) - 1 and self.position_ms >= self.now.total_ms

    @property
    def over(self) -> bool:
        return self.ended or self.finished

    def at(self, position_ms: int, part: int | None = None) -> "Course":
        """The same at another position of its part, or of another one."""
        part = self.part if part is None else part
        positions = (*self.positions[:part], position_ms, *self.positions[part + 1 :])
        return replace(self, part=part, positions=positions)


def shape_of(definition: "Definition", ready_s: int = READY_S) -> Shape:
    """The shape of a circuit's frozen definition; what is not on the clock is one interval, as long as its limit."""
    if not definition.on_the_clock:
        return Shape((definition.duration_s,), definition.duration_s, 1, ready_s=ready_s, kind=definition.format)
    windows = tuple(station.work_window_s for station in definition.stations)
    partners = definition.partners
    return Shape(windows, definition.interval_s, definition.rotations, partners, ready_s)


def words_shape(minutes: int) -> Shape:
    """The shape of a part that is words alone."""
    return Shape((60 * minutes,), 60 * minutes, 1, ready_s=0, kind=WORDS)


def class_shape(parts: "Iterable[tuple[int, Definition | None]]", main: int, ready_s: int = READY_S) -> Shape:
    """The shape of a class from the minutes of its parts and their circuits, None where there are words alone.

    What a part has beyond its circuit comes before it, as time to get ready.
    """
    shapes = []
    for minutes, definition in parts:
        if definition is None:
            shapes.append(words_shape(minutes))
        else:
            spare_s = 60 * minutes - ceil(definition.duration_s / 60) * 60
            shapes.append(shape_of(definition, max(ready_s, spare_s)))
    if len(shapes) == 1:
        return shapes[0]
    return replace(shapes[main], ready_s=ready_s, parts=tuple(shapes), main=main)


def shape_from(kept: Mapping[str, Any]) -> Shape:
    """The shape that a run has kept; one from before classes had parts is its circuit alone."""
    known = {field.name for field in fields(Shape)}
    values = {name: value for name, value in kept.items() if name in known}
    parts = tuple(shape_from(part) for part in kept.get("parts", ()))
    return Shape(**{**values, "windows_s": tuple(kept["windows_s"]), "parts": parts})


def lead_s(shape: Shape) -> int:
    """Seconds to get ready in before the class begins."""
    return shape.in_order[0].ready_s


def moment(shape: Shape, start_ms: int, changes: Iterable[Change], now_ms: int) -> Moment:
    """Where the class stands at `now_ms`; `start_ms` is when the first interval begins, after getting ready."""
    course = _stands(shape, start_ms, changes, now_ms)
    part, interval = course.now, 1000 * course.now.interval_s
    step = _step(part, course.position_ms)
    spent = 0 if course.over or course.lead_ms else course.position_ms - step * interval
    phase = "over" if course.over else "ready" if course.lead_ms else _phase(part, spent)
    return Moment(
        state=phase
        if course.over or (course.running and course.lead_ms)
        else "running"
        if course.running
        else "paused",
        phase=phase,
        round=step // part.round_steps + 1,
        rounds=part.rounds,
        step=step,
        shift=step % part.round_steps // part.partners,
        turn=step % part.partners,
        second=spent // 1000,
        left_ms=0 if course.over else course.lead_ms or interval - spent,
        part=course.part,
        length_s=part.interval_s,
    )


def is_half_done(shape: Shape, at: Moment) -> bool:
    """Whether half the intervals of the circuit have begun: the next start is the next wave's, not the same again."""
    own = shape.in_order[at.part]
    return at.part > shape.main or (at.part == shape.main and 2 * (at.step + 1) >= at.rounds * own.round_steps)


def over_ms(shape: Shape, start_ms: int, changes: Iterable[Change]) -> int:
    """When the class is over if nothing more is pressed."""
    course = _course(shape, start_ms, changes)
    if course.ended:
        return course.at_ms
    if not course.running:
        return course.at_ms + _all_ms(course) + FORGOTTEN_MS
    coming = course.parts[course.part + 1 :]
    later = sum(part.total_ms + 1000 * part.ready_s for part in coming)
    return course.at_ms + course.lead_ms + course.now.total_ms - course.position_ms + later


def rounds_made(shape: Shape, start_ms: int, changes: Iterable[Change], now_ms: int, part: int) -> tuple[int, bool]:
    """Whole rounds of a part that is over, and True; those that it is to have, and False, while it is on or to come."""
    course = _stands(shape, start_ms, changes, now_ms)
    part = part if part < len(course.parts) else shape.main
    own, position = course.parts[part], course.positions[part]
    if not course.over and course.part <= part:
        return own.rounds, False
    step = _step(own, position)
    if position and step + 1 == own.rounds * own.round_steps:
        return own.rounds, True
    return step // own.round_steps, True


def _stands(shape: Shape, start_ms: int, changes: Iterable[Change], now_ms: int) -> Course:
    return _on(_course(shape, start_ms, (c for c in changes if c.at_ms <= now_ms)), now_ms)


def _course(shape: Shape, start_ms: int, changes: Iterable[Change]) -> Course:
    lead = 1000 * lead_s(shape)
    course = Course(start_ms - lead, 0, (0,) * len(shape.in_order), lead, shape.in_order)
    for change in sorted(changes, key=lambda change: change.at_ms):
        course = _changed(_on(course, max(change.at_ms, course.at_ms)), change)
    return course


def _on(course: Course, at_ms: int) -> Course:
    """The same course told from `at_ms` on: when a part is done, the next one begins."""
    spent = at_ms - course.at_ms
    course = replace(course, at_ms=at_ms)
    if not course.running:
        return replace(course, ended=course.ended or spent >= _all_ms(course) + FORGOTTEN_MS)
    while True:
        waited, spent = min(course.lead_ms, spent), max(spent - course.lead_ms, 0)
        course = replace(course, lead_ms=course.lead_ms - waited)
        left = max(course.now.total_ms - course.position_ms, 0)
        if course.lead_ms or spent < left or course.part == len(course.parts) - 1:
            return course.at(min(course.position_ms + spent, course.now.total_ms))
        spent -= left
        course = course.at(course.now.total_ms)
        course = replace(course.at(0, course.part + 1), lead_ms=1000 * course.parts[course.part + 1].ready_s)


def _changed(course: Course, change: Change) -> Course:
    over, part = course.over, course.now
    lead = {"lead_ms": 1000 * part.ready_s}
    again: dict[str, Any] = {"running": True, "ended": False}
    match change.kind:
        case "pause" if not over:
            return replace(course, running=False)
        case "resume":
            return replace(course, **again)
        case "jump":
            position = min(change.value, part.rounds * part.round_steps - 1) * 1000 * part.interval_s
            return replace(course.at(position), **({**again, **lead} if over else {"lead_ms": 0}))
        case "part":
            found = course.at(0, min(change.value, len(course.parts) - 1))
            return replace(found, lead_ms=1000 * found.now.ready_s, **(again if over else {}))
        case "rounds":
            # After the last round a new one begins with time to get ready.
            more = lead if course.finished and change.value > part.rounds else {}
            return replace(_with(course, replace(part, rounds=change.value)), **more)
        case "length" if part.kind != CIRCUIT:
            return _with(course, replace(part, interval_s=change.value, windows_s=(change.value,)))
        case "end" if not over:
            return replace(course, running=False, ended=True)
    return course


def _with(course: Course, part: Shape) -> Course:
    """The same with the part that is on changed."""
    return replace(course, parts=(*course.parts[: course.part], part, *course.parts[course.part + 1 :]))


def _all_ms(course: Course) -> int:
    return sum(part.total_ms for part in course.parts)


def _step(part: Shape, position_ms: int) -> int:
    """The interval at a position; the last one, when all is done."""
    return min(position_ms // (1000 * part.interval_s), part.rounds * part.round_steps - 1)


def _phase(part: Shape, spent_ms: int) -> str:
    """Work for as long as any station's window is open; a single station's own is for its people to see."""
    return "work" if spent_ms < 1000 * max(part.windows_s) else "rest"
