"""One target as every page shows it: phone, wall, paper, room preview and API read the same card."""

from dataclasses import dataclass
from functools import lru_cache
from math import floor

from athletes.capacity.constants import FAIR_SD, FIRM_SD
from athletes.capacity.ergometer import kcal_per_hour
from athletes.words import dose_parts, hold_parts, load_text, number
from sessions.circuits.definition import Definition, Option
from sessions.models import Target
from sessions.scaling.constants import ROUNDING_SLACK
from sessions.scaling.explain import explain
from sessions.scaling.targets import Bound, Swap

CAPS = ("time", "own", "other_station", "safety", "exposure", "return")
UNIT_WORDS = {"kcal": "calories", "metres": "metres", "seconds": "seconds"}

CAUTION = (
    "Stop on pain, dizziness or chest discomfort and tell a coach. Numbers are estimates: go easier whenever they feel "
    "wrong. New or long-missed movements: start with little."
)
UNKNOWN_LOAD = "No lift of yours is known here: begin with a lighter load and choose it with a coach."


@dataclass(frozen=True, slots=True)
class Card:
    """What one athlete does at one station; texts are ready to print, an empty one is left out."""

    number: int
    rung: int
    movement: str
    prescribed: str
    rest: bool
    swap: bool
    capped: bool
    pinned: bool
    dose: str
    unit: str
    wanted: str
    hold: str
    hold_unit: str
    rate: str
    done_by: str
    window: str
    firmness: str
    headroom: float | None
    probability: float | None
    why: tuple[str, ...]
    setting: str
    note: str
    cues: dict[str, str]
    caution: str


def card_of(definition: Definition, target: Target, load_unit: str = "kg", *, explained: bool = True) -> Card:
    """The card of a frozen target in its session's circuit definition; boards without explanations need none."""
    station = definition.stations[target.station - 1]
    detail = target.detail
    option = station.options[max(target.rung, 0)]
    movement = option.movement
    rest = target.rung < 0
    engine = "" if rest else movement.engine
    dose, unit = ("", "") if rest else dose_parts(option.dose_kind, target.dose, target.load_kg, load_unit)
    hold, hold_unit = _hold(engine, target.hold)
    return Card(
        number=target.station,
        rung=target.rung,
        movement="Rest" if rest else movement.name,
        prescribed=station.options[0].movement.name,
        rest=rest,
        swap=target.rung > 0 and detail["bound"] != "pinned",
        capped=detail["bound"] in CAPS,
        pinned=detail["bound"] == "pinned",
        dose=dose,
        unit=unit,
        wanted=number(floor(detail["wanted"] + ROUNDING_SLACK), 0),
        hold=hold,
        hold_unit=hold_unit,
        rate=_rate(engine, option.dose_kind, movement.kcal_base, movement.kcal_slope, target.hold),
        done_by="" if rest else number(target.done_by_s, 0),
        window=number(station.work_window_s, 0),
        firmness="" if rest else firmness_word(target.sd_log),
        headroom=target.headroom,
        probability=target.probability,
        why=why(definition, target, load_unit) if explained else (),
        setting="" if rest else detail.get("setting") or (movement.machine.setting_advice if movement.machine else ""),
        note=station.note,
        cues={} if rest else movement.cues,
        caution="" if rest else _caution(option, detail),
    )


def why(definition: Definition, target: Target, load_unit: str = "kg") -> tuple[str, ...]:
    """Why the target is what it is, in at most three plain sentences."""
    detail, stations = target.detail, definition.stations
    station = stations[target.station - 1]
    option = station.options[max(target.rung, 0)]
    other = stations[detail["bound_by"] - 1] if detail["bound_by"] else None
    name = other.options[0].movement.name if other else ""
    return _sentences(
        dose=target.dose,
        wanted_dose=floor(detail["wanted"] + ROUNDING_SLACK),
        unit=UNIT_WORDS.get(option.dose_kind, "repetitions"),
        load=load_text(target.load_kg, load_unit) if target.load_kg else "",
        bound=Bound[detail["bound"].upper()],
        swap=Swap[detail["swap"].upper()],
        movement=option_name(option),
        prescribed=option_name(station.options[0]),
        work_s=station.work_window_s - option.movement.setup_s,
        other_station=f"station {detail['bound_by']}, {name}",
        benchmarks=tuple(detail["benchmarks"]),
        tested=detail["tested"],
        firmness=firmness_word(target.sd_log),
    )


def rung_mark(rung: int) -> str:
    """How a step of the swap ladder is marked beside a dose: nothing for the prescription, then a, b, c."""
    return "" if rung <= 0 else chr(ord("a") + rung - 1)


def option_name(option: Option) -> str:
    """A rung of a swap ladder as it is told apart from the others: with its load, where it has one."""
    name, load_kg = option.movement.name, option.load_kg
    return f"{name}, {load_text(load_kg)}" if load_kg else name


def firmness_word(sd_log: float | None) -> str:
    """The word for one number; `athletes.capacity.firmness` does arrays, with the same limits."""
    if sd_log is None:
        return "rough"
    return "firm" if sd_log <= FIRM_SD else "fair" if sd_log <= FAIR_SD else "rough"


def _caution(option: Option, detail: dict) -> str:
    unknown = UNKNOWN_LOAD if option.load_kg and not detail["benchmarks"] else ""
    return " ".join(part for part in (unknown, option.movement.caution) if part)


@lru_cache(maxsize=20_000)
def _hold(engine: str, hold: float | None) -> tuple[str, str]:
    return hold_parts(engine, hold) if engine and hold else ("", "")


@lru_cache(maxsize=20_000)
def _rate(engine: str, dose_kind: str, kcal_base: float, kcal_slope: float, hold: float | None) -> str:
    """The same effort as the machine's other displays show it."""
    if not engine or not hold or engine == "run":
        return ""
    watts = "" if engine == "bike" else f"{hold:.0f} W"
    if dose_kind != "kcal":
        return watts
    rate = kcal_per_hour(hold, kcal_base, kcal_slope)
    return " · ".join(part for part in (f"{rate:.0f} kcal/h", watts) if part)


# Athletes of like strength are told the same.
_sentences = lru_cache(maxsize=20_000)(explain)
