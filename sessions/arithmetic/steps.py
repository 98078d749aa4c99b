"""From the dose that is written to the one that was set, step by step, for a coach who wants to check it."""

from typing import NamedTuple

from athletes.words import dose_text, load_text, number, percent, repetitions_word
from sessions.circuits.definition import Definition, Option
from sessions.models import Target
from sessions.scaling.cautions import RAMP_SHARES
from sessions.scaling.constants import UNTESTED_SHARE
from sessions.scaling.targets import Reason
from sessions.targets.detail import Detail, detail_of
from sessions.words.cards import written_dose, written_load

NEAR = 1e-3  # two doses closer than this are one: they were kept rounded
UNITS = {"kcal": "kcal", "metres": "m", "seconds": "s"}


class Step(NamedTuple):
    """One line of the arithmetic: what is done, the sum where there is one, and what comes out, with its unit."""

    words: str
    sum: str
    value: str


def dose_steps(target: Target) -> list[Step]:
    """Every step that took something off, and those that could have; nothing for a rest. No query."""
    if target.rung < 0:
        return []
    definition, detail = target.session.definition, detail_of(target)
    option = definition.option_of(target)
    steps = [Step(f"written for {option.movement.name}", "", written_dose(option))]
    if detail.by_hand:
        return [*steps, *_by_hand(target, definition, detail), *_load(target, option)]
    if detail.method == "3":
        return [*steps, Step("published by an earlier method", "", ""), _dose(target, option), *_load(target, option)]
    return [
        *steps,
        *_alone(target, definition, option, detail),
        *_together(target, option, detail),
        _dose(target, option),
        *_rounds(target, definition, detail),
        *_load(target, option),
    ]


def day_sentence(target: Target) -> str:
    """What the day leaves in the tank, for whoever reads a dose beside what is written; else empty."""
    detail = detail_of(target)
    if target.rung < 0 or detail.by_hand or detail.day_headroom is None:
        return ""
    hot = ", lowered for the heat" if detail.hot else ""
    return f"A {detail.intent} day{hot}: {percent(detail.day_headroom)} is to be left in the tank in the last round."


def _alone(target: Target, definition: Definition, option: Option, detail: Detail) -> list[Step]:
    """What this station alone, time and a first time leave."""
    text = lambda dose: _text(option, dose)  # noqa: E731
    left = percent(detail.day_headroom or 0.0)
    careful = detail.cautioned or detail.week  # a caution takes rounds off after all of them were reckoned with
    rounds = definition.rotations if careful or target.rounds is None else target.rounds
    words = (
        f"possible here alone for {rounds} round{'' if rounds == 1 else 's'}, with {left} left and the doubt taken off"
    )
    steps = [Step(words, "", text(detail.own))]
    if detail.reason == Reason.TIME:
        station = definition.station_of(target)
        seconds = station.work_window_s - option.movement.setup_s
        per = 1.0 if option.dose_kind == "seconds" else option.movement.seconds_per_repetition
        sum_ = f"{number(seconds)} s ÷ {number(per)} s"
        steps.append(Step("the most that fits into the work time", sum_, text(seconds / per)))
    if detail.untested:
        sum_ = f"2 ÷ 3 × {number(detail.written, 2)}"
        steps.append(Step("caution: a first time, so no more than this", sum_, text(UNTESTED_SHARE * detail.written)))
    return steps


def _together(target: Target, option: Option, detail: Detail) -> list[Step]:
    if detail.reason != Reason.TOGETHER:
        return [Step("the other stations take nothing off", "", "")]
    where = f"station {detail.reason_station}"
    name = f", {detail.reason_movement}" if detail.reason_movement else ""
    return [Step(f"all stations together: the smallest cut that holds; most for {where}{name}", "", "")]


def _dose(target: Target, option: Option) -> Step:
    return Step("the dose, in a number that a coach can call", "", _text(option, target.dose))


def _rounds(target: Target, definition: Definition, detail: Detail) -> list[Step]:
    if target.rounds is None or target.rounds >= definition.rotations:
        return []
    value = f"{target.rounds} of {definition.rotations} rounds"
    if detail.week:
        return [
            Step(f"caution: week {detail.week} of 4, {percent(RAMP_SHARES[detail.week - 1])} of the work", "", value)
        ]
    if detail.reason == Reason.ROUNDS:
        return [Step("rounds give way, not the dose", "", value)]
    if detail.reason == Reason.UNACCUSTOMED:
        return [Step("caution: more of what makes sore than is on record", "", value)]
    return [Step("the circuit scales by rounds", "", value)]


def _by_hand(target: Target, definition: Definition, detail: Detail) -> list[Step]:
    steps = []
    if before := detail.before:
        was = definition.stations[target.station - 1].options[max(before["rung"], 0)]
        text = f"{dose_text(was.dose_kind, before['dose'], before['load_kg'])}, {was.movement.name}"
        steps.append(Step("worked out, before it was set by hand", "", text if before["rung"] >= 0 else "rest"))
    text = _text(definition.option_of(target), target.dose)
    return [*steps, Step("set by hand: this stands, whatever the method says", "", text)]


def _load(target: Target, option: Option) -> list[Step]:
    if target.load_kg is None:
        return []
    words = f"load, of {written_load(option)} written: down to a bar of this class"
    return [Step(words, "", load_text(target.load_kg))]


def _text(option: Option, dose: float) -> str:
    """Two decimals at most, with the unit."""
    return f"{number(dose, 2)} {UNITS.get(option.dose_kind) or repetitions_word(dose)}"
