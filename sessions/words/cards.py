"""One target as every page shows it: phone, wall, paper, room preview and API read the same card."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import floor
from typing import Any, Protocol

from athletes.capacity.constants import FAIR_SD, FIRM_SD
from athletes.capacity.ergometer import kcal_in, kcal_per_hour, metres_in
from athletes.words import clock, dose_parts, dose_text, hold_parts, load_text, number
from sessions.circuits.definition import Definition, Option, Station, range_text
from sessions.scaling.explain import explain
from sessions.scaling.targets import Reason, Swap
from sessions.targets.detail import Detail, detail_of

UNIT_WORDS = {"kcal": "calories", "metres": "metres", "seconds": "seconds"}

STOP_SHARE = 0.85  # of the work time: by then somebody who goes by feel stops (ours)
STOP_STEP_S = 5
FEW = 3  # repetitions, from which on a rhythm is worth saying (ours)
SHARING = "in pairs: one works, one rests, then change"
CAUTION = (
    "Stop on pain, dizziness or chest discomfort and tell a coach. Numbers are estimates: go easier whenever they feel "
    "wrong. New or long-missed movements: start with little."
)
OF_THE_DOSE = (Reason.DAY, Reason.TIME, Reason.OWN, Reason.TOGETHER)
UNKNOWN_LOAD = "No lift of yours is known here: begin with a lighter load and choose it with a coach."


class Shown(Protocol):
    """A target, or a row of its columns."""

    station: int
    rung: int
    dose: float
    load_kg: float | None
    rounds: int | None
    hold: float | None
    finish_by_s: float | None
    headroom: float | None
    probability: float | None
    sd_log: float | None
    detail: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Card:
    """What one athlete does at one station; texts are ready to print, an empty one is left out.

    `with_coach`: nothing is set without a coach. `reduced`: less than the rung's own dose. `rounds` says the first so
    many of all, where it is not all of them, and `first_rounds` how many. `rhythm` is how often one is due, where there
    is no pace to hold. `mind` is a caution for this athlete, `caution` one of the movement; `untested` says that
    nothing is known of this athlete here, `was` what stood there before a coach changed it. Off the clock `expected`
    says what the whole comes to, and `lasts` how long this takes each time.
    """

    number: int
    rung: int
    movement: str
    prescribed: str
    rest: bool
    with_coach: bool
    swap: bool
    reduced: bool
    by_hand: bool
    dose: str
    unit: str
    written: str
    rounds: str
    first_rounds: int | None
    hold: str
    hold_unit: str
    rate: str
    finish_by: str
    window: str
    firmness: str
    headroom: float | None
    probability: float | None
    why: tuple[str, ...]
    setting: str
    note: str
    cues: dict[str, str]
    caution: str
    mind: str
    open_last: bool
    expected: str = ""
    lasts: str = ""
    rhythm: str = ""
    untested: bool = False
    was: str = ""


def card_of(definition: Definition, target: Shown, *, explained: bool = True) -> Card:
    """The card of a frozen target in its session's circuit; boards without explanations need none."""
    station, option, detail = definition.station_of(target), definition.option_of(target), detail_of(target)
    movement = option.movement
    with_coach = detail.with_coach
    rest = target.rung < 0 and not with_coach
    working = target.rung >= 0
    engine = movement.engine if working else ""
    timed = definition.on_the_clock
    counted = timed or definition.format == "for_time"
    fewer = counted and working and target.rounds is not None and target.rounds < definition.rotations
    first_rounds = target.rounds if fewer else None
    dose, unit = dose_parts(option.dose_kind, target.dose, target.load_kg) if working else ("", "")
    hold, hold_unit = _hold(engine, target.hold)
    return Card(
        number=target.station,
        rung=target.rung,
        movement="Rest" if rest else movement.name,
        prescribed=station.prescribed.movement.name,
        rest=rest,
        with_coach=with_coach,
        swap=target.rung > 0 and not detail.by_hand,
        reduced=working and not detail.by_hand and target.dose < detail.written,
        by_hand=detail.by_hand,
        dose=dose,
        unit=unit,
        written=number(detail.written, 0),
        rounds=rounds_text(first_rounds, definition.rotations),
        first_rounds=first_rounds,
        hold=hold,
        hold_unit=hold_unit,
        rate=_rate(engine, option, target.hold, target.dose),
        finish_by=number(target.finish_by_s, 0) if working and timed else "",
        window=number(station.work_window_s, 0),
        firmness=firmness_word(target.sd_log) if working else "",
        headroom=target.headroom,
        probability=target.probability,
        why=why(definition, target) if explained else (),
        setting=(detail.setting or (movement.machine.setting_advice if movement.machine else "")) if working else "",
        note=station.note,
        cues=movement.cues if working else {},
        caution=movement.caution if working else "",
        mind=UNKNOWN_LOAD if working and option.loaded and not detail.benchmarks else "",
        open_last=detail.open_last,
        expected=expected_words(definition, detail),
        lasts=_lasts(target.finish_by_s) if working and not timed else "",
        rhythm=_rhythm(option, target) if working and timed else "",
        untested=working and detail.untested and not detail.by_hand,
        was=_was(station, detail, target.rung),
    )


def is_first_time(cards: Sequence[Card]) -> bool:
    """Whether nothing is known of an athlete at any station where they work: they go by feel."""
    working = [card for card in cards if card.dose]
    return bool(working) and all(card.untested for card in working)


def setting_words(definition: Definition, card: Card) -> str:
    """How the machine is set, in few words: Lever 6.5 on machine 1, 6 on 2."""
    machine = definition.stations[card.number - 1].options[max(card.rung, 0)].movement.machine
    words = card.setting.partition(" (")[0]
    return words.replace(f" on {machine.name} ", " on machine ", 1) if machine else words


def stop_by(definition: Definition, card: Card) -> int:
    """The second of the interval by which somebody who goes by feel stops: in good time before the others."""
    window = definition.stations[card.number - 1].work_window_s
    return max(STOP_STEP_S, int(STOP_SHARE * window // STOP_STEP_S * STOP_STEP_S))


def _rhythm(option: Option, target: Shown) -> str:
    """One every so many seconds, where repetitions are counted: 3.5."""
    if option.dose_kind not in ("repetitions", "load_repetitions") or not target.finish_by_s or target.dose < FEW:
        return ""
    every_s = round(2 * (target.finish_by_s - option.movement.setup_s) / target.dose) / 2
    return number(every_s) if every_s > 0 else ""


def _was(station: Station, detail: Detail, rung: int) -> str:
    """What a coach changed: 13 kcal, or the movement with it where that is another one."""
    before = detail.before
    if not detail.by_hand or not before:
        return ""
    if before["rung"] < 0:
        return "rest"
    option = station.options[before["rung"]]
    was = dose_text(option.dose_kind, before["dose"], before["load_kg"])
    return was if before["rung"] == rung else f"{was} {option.movement.name}"


def why(definition: Definition, target: Shown, *, to_coach: bool = False) -> tuple[str, ...]:
    """Why the target is what it is, in at most two plain sentences; none where it is as prescribed.

    To a coach the foot of a written range is as prescribed, and nothing is said of what is within it.
    """
    detail, option = detail_of(target), definition.option_of(target)
    rounds = definition.rotations if target.rounds is None else target.rounds
    reason = int(detail.reason)
    if to_coach and Reason(reason) in OF_THE_DOSE and not under_range(option, target.dose, detail.written):
        reason = int(Reason.AS_WRITTEN)
    return _sentences(
        to_coach=to_coach,
        written_as=range_text(option) if to_coach and detail.written == option.dose else "",
        reason=reason,
        swap=int(detail.swap),
        dose=target.dose,
        written=detail.written,
        unit=UNIT_WORDS.get(option.dose_kind, "repetitions"),
        rounds=rounds,
        of_rounds=definition.rotations,
        work_s=definition.station_of(target).work_window_s - option.movement.setup_s,
        cap_s=None if definition.on_the_clock else definition.limit_s,
        movement=option_name(option),
        other_movement=detail.reason_movement,
        untested=detail.untested,
        intent=detail.intent,
        hot=detail.hot,
        by_library=option.from_library,
    )


def under_range(option: Option, dose: float, written: float) -> bool:
    """Whether a dose is less than what is `written` for its rung, and than the foot of the range where there is one."""
    return dose < min(written, option.least_dose or written)


def less_than_written(option: Option, dose: float, load_kg: float | None, written: float) -> bool:
    """Whether a dose is under its range, or a load under the written one as far as the gym owns it."""
    if under_range(option, dose, written):
        return True
    if not option.load_kg or load_kg is None:
        return False
    owned = [load for load in option.movement.rack or () if load <= option.load_kg]
    return load_kg < max(owned, default=option.load_kg)


def shape_words(definition: Definition) -> str:
    """How a circuit runs, in words: 6 rounds of 4 stations, a station every 60 s, 24 min; and how two share it."""
    stations = len(definition.stations)
    if not definition.on_the_clock:
        return f"{format_words(definition)}, {stations} station{'' if stations == 1 else 's'} in order"
    parts = [
        f"{definition.rotations} round{'' if definition.rotations == 1 else 's'} of {stations} "
        f"station{'' if stations == 1 else 's'}",
        f"a station every {definition.interval_s} s",
        f"{number(definition.duration_s / 60, 0)} min",
        SHARING if definition.partners == 2 else "",
    ]
    return ", ".join(part for part in parts if part)


def format_words(definition: Definition) -> str:
    """What is not on the clock: 4 rounds for time, cap 20 min; as many rounds as fit in 12 min."""
    limit = time_words(definition.limit_s or 0)
    if definition.format == "as_many":
        return f"as many rounds as fit in {limit}"
    rounds = f"{definition.rotations} rounds " if definition.rotations > 1 else ""
    return f"{rounds}for time, cap {limit}"


def time_words(seconds: float) -> str:
    """20 min, or 12:30 where there are seconds."""
    return clock(seconds, tenths=False) if seconds % 60 else f"{number(seconds / 60, 0)} min"


def expected_words(definition: Definition, detail: Detail) -> str:
    """What somebody's whole is expected to come to: expect 14:10–16:30; expect 6 rounds, or 5–6 where that is not sure.

    Empty on the clock, and where nothing is asked.
    """
    if len(detail.expected) < 3 or not detail.expected[0]:
        return ""
    _, low, high = detail.expected
    if definition.format == "as_many":
        few, many = max(floor(low + 0.25), 1), max(floor(high + 0.25), 1)
        rounds = f"{few}" if few == many else f"{few}–{many}"
        return f"expect {rounds} round{'' if rounds == '1' else 's'}"
    limit = float(definition.limit_s or high)
    if low >= limit:
        return f"expect the cap at {clock(limit, tenths=False)}"
    ends = [clock(5 * round(min(end, limit) / 5), tenths=False) for end in (low, high)]
    return f"expect {'–'.join(dict.fromkeys(ends))}"


def rounds_text(rounds: int | None, of_rounds: int) -> str:
    """Which rounds are done, where it is not all of them: first 4 of 8 rounds."""
    if rounds is None:
        return ""
    return f"first {rounds} of {of_rounds} rounds" if rounds > 1 else f"only the first of {of_rounds} rounds"


def rung_mark(rung: int) -> str:
    """How a step of the swap ladder is marked beside a dose: nothing for the prescription, then a, b, c."""
    return "" if rung <= 0 else chr(ord("a") + rung - 1)


def written_load(option: Option) -> str:
    """The load as the coach wrote it: 24 kg, 75 %, or 2 in reserve."""
    if option.load_kg:
        return load_text(option.load_kg)
    if option.percent:
        return f"{number(option.percent)} %"
    return "" if option.reserve is None else f"{number(option.reserve)} in reserve"


def written_dose(option: Option) -> str:
    """The dose as the coach wrote it, with its range: 7–9 repetitions, 12–14 kcal, 5 × at 75 %."""
    text = dose_text(option.dose_kind, option.dose, option.load_kg)
    if option.loaded and not option.load_kg:
        text = f"{number(option.dose, 0)} × {written_load(option)}"
    least = option.least_dose
    return f"{number(least, 0)}–{text}" if least and least < option.dose else text


def option_name(option: Option) -> str:
    """A rung of a swap ladder as it is told apart from the others: with its load, where it has one."""
    load = written_load(option)
    return f"{option.movement.name}, {load}" if load else option.movement.name


LIMITED = {
    Reason.UNTESTED: "a first time",
    Reason.NEWCOMER: "first weeks, or back after a break",
    Reason.UNACCUSTOMED: "not used to so much",
}


def limited_by(detail: Detail) -> str:
    """What a coach reads of a caution behind a target; empty where there is none."""
    return LIMITED.get(detail.reason, "another movement for now" if detail.swap == Swap.FORBIDDEN else "")


def firmness_word(sd_log: float | None) -> str:
    """The word for one number; `athletes.capacity.firmness` does arrays, with the same limits."""
    if sd_log is None:
        return "rough"
    return "firm" if sd_log <= FIRM_SD else "fair" if sd_log <= FAIR_SD else "rough"


@lru_cache(maxsize=20_000)
def _hold(engine: str, hold: float | None) -> tuple[str, str]:
    return hold_parts(engine, hold) if engine and hold else ("", "")


def _rate(engine: str, option: Option, hold: float | None, dose: float) -> str:
    """The same effort as the machine's other displays show it, and of seconds at a pace what they add up to."""
    if not engine or not hold:
        return ""
    adds_up = dose if option.at_pace else 0.0
    return _displays(engine, option.dose_kind, option.movement.kcal_base, option.movement.kcal_slope, hold, adds_up)


@lru_cache(maxsize=20_000)
def _displays(engine: str, dose_kind: str, kcal_base: float, kcal_slope: float, hold: float, pace_s: float) -> str:
    watts = "" if engine in ("bike", "run") else f"{hold:.0f} W"
    rate = f"{float(kcal_per_hour(hold, kcal_base, kcal_slope)):.0f} kcal/h" if dose_kind == "kcal" else ""
    adds_up = ""
    if pace_s and engine == "bike":
        adds_up = f"about {float(kcal_in(pace_s, hold, kcal_base, kcal_slope)):.0f} kcal"
    elif pace_s:
        metres = hold * pace_s if engine == "run" else float(metres_in(pace_s, hold))
        adds_up = f"about {metres:.0f} m"
    return " · ".join(part for part in (adds_up, rate if engine != "run" else "", watts) if part)


def _lasts(seconds: float | None) -> str:
    """How long a leg takes: about 3:05, or about 25 s."""
    if not seconds:
        return ""
    return f"about {clock(seconds, tenths=False)}" if seconds >= 60 else f"about {number(seconds, 0)} s"


# Athletes of like strength are told the same.
_sentences = lru_cache(maxsize=20_000)(explain)
