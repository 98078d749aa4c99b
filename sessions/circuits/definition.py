"""A circuit as it is frozen: complete, typed, and readable without any other table.

`read` is the one door from kept JSON, however old, to a `Definition`; `frozen` is the way back.
"""

from dataclasses import asdict, dataclass, field, fields
from typing import Any, Protocol, TypeVar

from athletes.capacity.constants import KCAL_BASE_PER_H, KCAL_SLOPE_PER_W_H, PATTERNS
from athletes.words import number

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Machine:
    """The type of machine that a movement is done on."""

    id: int
    name: str
    setting_advice: str = ""
    lever_most: float | None = None


@dataclass(frozen=True, slots=True)
class Movement:
    """A movement as it was when the circuit was frozen. `involvement` is in the order of `PATTERNS`.

    `rack` are the loads [kg] that the gym owned for it, None where it had not said; `introductory` is the amount in a
    session for someone new to it, None in circuits frozen before there was one.
    """

    id: int
    name: str
    slug: str
    kind: str
    engine: str = ""
    setup_s: float = 0.0
    seconds_per_repetition: float = 2.0
    involvement: tuple[float, ...] = (0.0,) * len(PATTERNS)
    typical_best: float = 20.0
    typical_spread: float = 0.5
    paced: bool = False
    needs_skill: bool = False
    high_eccentric: bool = False
    introductory: float | None = None
    rack: tuple[float, ...] | None = None
    cues: dict[str, str] = field(default_factory=dict)
    caution: str = ""
    machine: Machine | None = None
    kcal_base: float = KCAL_BASE_PER_H
    kcal_slope: float = KCAL_SLOPE_PER_W_H


@dataclass(frozen=True, slots=True)
class Option:
    """A rung of a station's swap ladder: a movement, and how much of it, in the unit of `dose_kind`.

    `least_dose` is the foot of a range, None for half the dose. A load is written in kilograms, as `percent` of the
    maximum or by repetitions in `reserve`. A rung `from_library` was added below those that the coach wrote.
    """

    movement: Movement
    dose_kind: str
    dose: float
    least_dose: float | None = None
    load_kg: float | None = None
    percent: float | None = None
    reserve: float | None = None
    from_library: bool = False

    @property
    def loaded(self) -> bool:
        return self.dose_kind == "load_repetitions"

    @property
    def at_pace(self) -> bool:
        """So many seconds on an engine: what is worked out is the pace."""
        return bool(self.movement.engine) and self.dose_kind == "seconds"


@dataclass(frozen=True, slots=True)
class Station:
    """One place of a circuit, numbered from 1; the first of its `options` is what the coach prescribes."""

    position: int
    work_window_s: float
    options: tuple[Option, ...]
    note: str = ""
    closed: bool = False

    @property
    def prescribed(self) -> Option:
        return self.options[0]


def range_text(option: Option) -> str:
    """The written range or the dose alone: 12–14."""
    least, dose = option.least_dose, number(option.dose, 0)
    return f"{number(least, 0)}–{dose}" if least and least < option.dose else dose


class Placed(Protocol):
    """What `Definition.option_of` reads of a target: its station, from 1, and its rung, −1 at rest."""

    station: int
    rung: int


@dataclass(frozen=True, slots=True)
class Definition:
    """A whole circuit: one station an interval [s], all of them for `rotations` rounds.

    `headroom` is what the coach wants left in the tank on a hard day, None for the gym's own. Two `partners` at a
    station take turns, interval by interval. `scaling` says what gives way, "dose" or "rounds"; with `open_last` the
    last round is done as far as it goes. `format` "for_time" goes through all rounds without intervals, within the cap
    `limit_s` [s], "as_many" does as many rounds as fit in it.
    """

    name: str
    interval_s: int
    rotations: int
    headroom: float | None
    stations: tuple[Station, ...]
    partners: int = 1
    notes: str = ""
    scaling: str = "dose"
    open_last: bool = False
    format: str = "every"
    limit_s: int | None = None

    @property
    def on_the_clock(self) -> bool:
        """Whether there is a station an interval."""
        return self.format == "every"

    @property
    def duration_s(self) -> int:
        """Seconds that the circuit lasts at most."""
        return self.limit_s or len(self.stations) * self.partners * self.interval_s * self.rotations

    @property
    def minutes(self) -> float:
        return self.duration_s / 60

    @property
    def options(self) -> tuple[Option, ...]:
        """All rungs of all stations."""
        return tuple(option for station in self.stations for option in station.options)

    @property
    def movements(self) -> set[int]:
        """Ids of all movements that somebody may be asked to do."""
        return {option.movement.id for option in self.options}

    def station_of(self, target: Placed) -> Station:
        return self.stations[target.station - 1]

    def option_of(self, target: Placed) -> Option:
        """The rung that a target stands at; at rest, what is prescribed there."""
        return self.station_of(target).options[max(target.rung, 0)]


def read(kept: dict[str, Any]) -> Definition:
    """The definition in kept JSON; what came into definitions later has its default, what went out is passed over."""
    stations = tuple(
        _made(Station, station, options=tuple(_option(option) for option in station["options"]))
        for station in kept["stations"]
    )
    return _made(Definition, kept, stations=stations)


def frozen(definition: Definition) -> dict[str, Any]:
    """The definition as plain values for JSON; `read` gives it back.

    One on the clock is as it was before there were others, so that nothing that is published counts as changed.
    """
    kept = asdict(definition)
    if definition.on_the_clock:
        del kept["format"], kept["limit_s"]
    return kept


def _option(kept: dict[str, Any]) -> Option:
    movement = kept["movement"]
    machine = movement.get("machine")
    rack = movement.get("rack")
    return _made(
        Option,
        kept,
        movement=_made(
            Movement,
            movement,
            involvement=tuple(movement["involvement"]),
            machine=_made(Machine, machine) if machine else None,
            rack=None if rack is None else tuple(rack),
        ),
    )


def _made(kind: type[T], kept: dict[str, Any], **built: Any) -> T:
    known = {one.name for one in fields(kind)}  # type: ignore[arg-type]
    return kind(**{**{name: value for name, value in kept.items() if name in known}, **built})
