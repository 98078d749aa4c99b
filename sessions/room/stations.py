"""The room station by station: how each falls out over everyone."""

from collections import Counter
from dataclasses import dataclass

from sessions.circuits.definition import Option, Station, range_text
from sessions.models import Target
from sessions.room.rows import RoomCell, RoomRow
from sessions.targets.detail import Detail
from sessions.words.cards import (
    option_name,
    rung_mark,
    written_dose,
    written_load,
)

UNIT_WORDS = {"kcal": "cal", "metres": "m", "seconds": "s"}
WAYS = ("as_prescribed", "scaled", "cautioned", "by_hand", "swapped", "resting", "with_coach")


@dataclass(frozen=True)
class Rung:
    """An easier form at a station, and how many are sent there; `mark` is the letter that stands for it."""

    mark: str
    name: str
    people: int
    from_library: bool


@dataclass(frozen=True)
class StationSummary:
    """How one station falls out over the room: everyone counts once, from `as_prescribed` to `with_coach`."""

    number: int
    movement: str
    written: str  # as the coach wrote it: 12–14 cal, 5–7
    figure: str  # the same without its unit or load
    unit_word: str  # cal, m, s, or the load
    unit: str
    doses: tuple[float, ...]  # least, middle and most of those who do the prescribed movement
    loads: tuple[float, ...]  # the bars [kg] that stand there
    as_prescribed: int
    scaled: int  # by time, own capacity, the day or another station
    cautioned: int
    by_hand: int
    swapped: int
    resting: int
    with_coach: int
    untested: int  # a first time
    fullest: float  # the most that anybody does there over all rounds
    swaps: tuple[Rung, ...]  # in use
    busy: tuple[float, float]  # share of the interval in which the middling and the weak are at work


def summary(station: Station, rows: list[RoomRow], interval_s: int) -> StationSummary:
    index, prescribed = station.position - 1, station.prescribed
    targets = [row.targets[index] for row in rows]
    own = sorted(target.dose for target in targets if target.rung == 0)
    details = [row.details[index] for row in rows]
    ways = Counter(_way(row.cells[index], detail) for row, detail in zip(rows, details, strict=True))
    return StationSummary(
        number=station.position,
        movement=prescribed.movement.name,
        written=as_written(prescribed).removesuffix(" repetitions"),
        figure=range_text(prescribed),
        unit_word=UNIT_WORDS.get(prescribed.dose_kind, "") or written_load(prescribed),
        unit=prescribed.dose_kind,
        doses=(own[0], own[len(own) // 2], own[-1]) if own else (),
        loads=tuple(sorted({target.load_kg for target in targets if target.load_kg and target.rung == 0})),
        **{way: ways[way] for way in WAYS},
        untested=sum(detail.untested for target, detail in zip(targets, details, strict=True) if target.rung >= 0),
        fullest=max((target.dose * (target.rounds or 0) for target in targets if target.rung == 0), default=0.0),
        swaps=_swaps(station, targets),
        busy=_busy(targets, interval_s),
    )


def _busy(targets: list[Target], interval_s: int) -> tuple[float, float]:
    """Shares of the interval [%]: of who needs a middling time, and of who needs more than nine in ten do."""
    times = sorted(target.finish_by_s or 0.0 for target in targets if target.rung >= 0)
    if not times:
        return 0.0, 0.0
    middle, late = times[len(times) // 2], times[min(len(times) * 9 // 10, len(times) - 1)]
    return min(100 * middle / interval_s, 100.0), min(100 * late / interval_s, 100.0)


def _swaps(station: Station, targets: list[Target]) -> tuple[Rung, ...]:
    people = Counter(target.rung for target in targets)
    return tuple(
        Rung(rung_mark(rung), option_name(option), people[rung], option.from_library)
        for rung, option in enumerate(station.options)
        if rung and people[rung]
    )


def _way(cell: RoomCell, detail: Detail) -> str:
    """What decided over one target: the one of `WAYS` under which it is counted."""
    card = cell.card
    if card.with_coach:
        return "with_coach"
    if card.rest:
        return "resting"
    if card.by_hand:
        return "by_hand"
    if card.swap:
        return "swapped"
    if detail.cautioned:
        return "cautioned"
    return "scaled" if cell.less or cell.rounds else "as_prescribed"


def as_coaches_say(words: str) -> str:
    """Calories as they are typed at the desk: 12 cal. Wall and phone have the unit of the machines."""
    return words.replace(" kcal", " cal")


def as_written(option: Option) -> str:
    """The dose as the coach wrote it: 12–14 cal."""
    return as_coaches_say(written_dose(option))
