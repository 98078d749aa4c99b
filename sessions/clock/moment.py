"""Where a class stands, from its circuit's shape, its start and the changes since. Knows neither Django nor models.

Every moment is a whole number of milliseconds since 1970 (UTC), so that time zones and their changes play no part.
`static/sessions/clock/clock.js` is the same in the screens' language, so that they go on alone when the network drops;
both are held to tests/clock/clock_cases.json. Changes count in the order of their moments, however late they arrive.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sessions.circuits.definition import Definition


READY_S = 10
FORGOTTEN_MS = 3_600_000  # a pause longer than this and the whole session together ends the class


@dataclass(frozen=True)
class Shape:
    """What the clock needs of a circuit: the work window of each station, and seconds to get ready in.

    With two `partners` a station lasts two intervals: one works, then the other.
    """

    windows_s: tuple[int, ...]
    interval_s: int
    rounds: int
    partners: int = 1
    ready_s: int = READY_S

    @property
    def round_steps(self) -> int:
        """Intervals in a round."""
        return len(self.windows_s) * self.partners


@dataclass(frozen=True)
class Change:
    """What a coach pressed, and when. `value`: the interval to go to, counted from 0, or the new number of rounds."""

    at_ms: int
    kind: str  # pause, resume, jump, rounds, end
    value: int = 0


@dataclass(frozen=True)
class Moment:
    """Where a class stands. `step` counts intervals from 0, `shift` how many stations everyone has moved on by."""

    state: str  # ready, running, paused, over
    phase: str  # ready, work, rest, over
    round: int
    rounds: int
    step: int
    shift: int
    turn: int  # which of two partners works, from 0
    second: int  # whole seconds of the interval that are over
    left_ms: int  # until the interval ends, or until the first one begins


@dataclass(frozen=True)
class Course:
    """How the class runs since `at_ms`: from `position_ms` of its work on, after `lead_ms` of getting ready."""

    at_ms: int
    position_ms: int
    lead_ms: int
    rounds: int
    running: bool = True
    ended: bool = False


def shape_of(definition: "Definition", ready_s: int = READY_S) -> Shape:
    """The shape of a circuit's frozen definition."""
    windows = tuple(station.work_window_s for station in definition.stations)
    partners = definition.partners
    return Shape(windows, definition.interval_s, definition.rotations, partners, ready_s)


def moment(shape: Shape, start_ms: int, changes: Iterable[Change], now_ms: int) -> Moment:
    """Where the class stands at `now_ms`; `start_ms` is when the first interval begins, after getting ready."""
    course = _on(shape, _course(shape, start_ms, (c for c in changes if c.at_ms <= now_ms)), now_ms)
    interval = 1000 * shape.interval_s
    over = _is_over(shape, course)
    step = min(course.position_ms // interval, course.rounds * shape.round_steps - 1)  # the last one, when all is done
    spent = 0 if over or course.lead_ms else course.position_ms - step * interval
    phase = "over" if over else "ready" if course.lead_ms else _phase(shape, spent)
    return Moment(
        state=phase if over or (course.running and course.lead_ms) else "running" if course.running else "paused",
        phase=phase,
        round=step // shape.round_steps + 1,
        rounds=course.rounds,
        step=step,
        shift=step % shape.round_steps // shape.partners,
        turn=step % shape.partners,
        second=spent // 1000,
        left_ms=0 if over else course.lead_ms or interval - spent,
    )


def over_ms(shape: Shape, start_ms: int, changes: Iterable[Change]) -> int:
    """When the class is over if nothing more is pressed."""
    course = _course(shape, start_ms, changes)
    if course.ended:
        return course.at_ms
    if not course.running:
        return course.at_ms + _total_ms(shape, course.rounds) + FORGOTTEN_MS
    return course.at_ms + course.lead_ms + _total_ms(shape, course.rounds) - course.position_ms


def group_of(shape: Shape, place: int) -> tuple[int, int]:
    """(group, partner) of the athlete at a place in the class, all from 0.

    Dealt out one by one, partners together: group g begins at station g, and groups differ by one person at most.
    """
    return place // shape.partners % len(shape.windows_s), place % shape.partners


def _course(shape: Shape, start_ms: int, changes: Iterable[Change]) -> Course:
    ready = 1000 * shape.ready_s
    course = Course(start_ms - ready, 0, ready, shape.rounds)
    for change in sorted(changes, key=lambda change: change.at_ms):
        course = _changed(shape, _on(shape, course, max(change.at_ms, course.at_ms)), change)
    return course


def _on(shape: Shape, course: Course, at_ms: int) -> Course:
    """The same course told from `at_ms` on."""
    total, spent = _total_ms(shape, course.rounds), at_ms - course.at_ms
    if not course.running:
        return replace(course, at_ms=at_ms, ended=course.ended or spent >= total + FORGOTTEN_MS)
    position = min(course.position_ms + max(spent - course.lead_ms, 0), total)
    return replace(course, at_ms=at_ms, position_ms=position, lead_ms=max(course.lead_ms - spent, 0))


def _changed(shape: Shape, course: Course, change: Change) -> Course:
    over, lead = _is_over(shape, course), 1000 * shape.ready_s
    match change.kind:
        case "pause" if not over:
            return replace(course, running=False)
        case "resume":
            return replace(course, running=True, ended=False)
        case "jump":
            position = min(change.value, course.rounds * shape.round_steps - 1) * 1000 * shape.interval_s
            again = {"running": True, "ended": False, "lead_ms": lead} if over else {"lead_ms": 0}
            return replace(course, position_ms=position, **again)
        case "rounds":
            # After the last round a new one begins with time to get ready.
            again = {"lead_ms": lead} if _finished(shape, course) and change.value > course.rounds else {}
            return replace(course, rounds=change.value, **again)
        case "end" if not over:
            return replace(course, running=False, ended=True)
    return course


def _is_over(shape: Shape, course: Course) -> bool:
    return course.ended or _finished(shape, course)


def _finished(shape: Shape, course: Course) -> bool:
    return course.position_ms >= _total_ms(shape, course.rounds)


def _total_ms(shape: Shape, rounds: int) -> int:
    return 1000 * shape.interval_s * shape.round_steps * rounds


def _phase(shape: Shape, spent_ms: int) -> str:
    """Work for as long as any station's window is open; a single station's own is for its people to see."""
    return "work" if spent_ms < 1000 * max(shape.windows_s) else "rest"
