"""From the dose that is written to the one that was set, step by step, so that a calculator finds the same."""

from math import floor
from typing import NamedTuple

from athletes.words import dose_text, load_text, number, percent, repetitions_word
from sessions.circuits.definition import Definition, Option
from sessions.models import Target
from sessions.scaling.cautions import RAMP_SHARES, REST_PER_WORK, longest_work_s
from sessions.scaling.constants import ROUNDING_SLACK, UNTESTED_SHARE
from sessions.scaling.steps import step_of

NEAR = 1e-3  # two doses closer than this are one: they were kept rounded


class Step(NamedTuple):
    """One line of the arithmetic: what is done, the sum where there is one, and what comes out, with its unit."""

    words: str
    sum: str
    value: str


class Place(NamedTuple):
    """What the steps of one target read: its session's circuit, and the option it stands at."""

    circuit: Definition
    window_s: float
    option: Option

    @property
    def room_s(self) -> float:
        """The seconds of the window that can be worked."""
        return self.window_s - self.option.movement.setup_s

    @property
    def step(self) -> float:
        return step_of(self.option.dose_kind)

    def text(self, dose: float) -> str:
        """Two decimals, downwards: what is shown as 13 is never rounded down to 12."""
        shown = floor(dose * 100 + ROUNDING_SLACK) / 100
        words = {"kcal": "kcal", "metres": "m", "seconds": "s"}
        return f"{number(shown, 2)} {words.get(self.option.dose_kind) or repetitions_word(shown)}"

    def whole(self, dose: float) -> float:
        """In whole steps, and one at least."""
        return max(floor(dose / self.step + ROUNDING_SLACK), 1) * self.step


def dose_steps(target: Target) -> list[Step]:
    """Every step that took something off, and those that could have; nothing for a rest. No query."""
    if target.rung < 0:
        return []
    place, detail = _place(target), target.detail
    written = place.option.dose
    steps = [Step(f"written for {place.option.movement.name}", "", place.text(written)), _intent(target, place)]
    if detail["bound"] == "pinned":
        return [*steps, *_by_hand(target, place), *_load(target, place)]
    if "alone" not in detail:
        steps.append(Step("published before the steps between were kept", "", "–"))
    else:
        steps += [*_most(detail, place), _alone(target, place), *_shared(detail, place), *_way_back(target, place)]
    return [*steps, Step("the dose", "", place.text(target.dose)), *_load(target, place)]


def _place(target: Target) -> Place:
    station = target.session.definition.stations[target.station - 1]
    return Place(target.session.definition, station.work_window_s, station.options[target.rung])


def day_sentence(target: Target) -> str:
    """That the day asks for less than is written, for whoever reads the dose beside what is written; else empty."""
    if target.rung < 0 or target.detail["bound"] == "pinned":
        return ""
    place = _place(target)
    written, wanted = place.option.dose, target.detail["wanted"]
    if wanted >= written - NEAR:
        return ""
    part = f"{percent(wanted / written, 1)} of what is written ({place.text(written)})"
    return f"A {target.session.intent} day asks for {part}: {number(wanted, 2)}."


def _intent(target: Target, place: Place) -> Step:
    """The factor as it was frozen in the dose: the gym's own may be another by now."""
    written, wanted = place.option.dose, target.detail["wanted"]
    if wanted >= written - NEAR:
        return Step(f"a {target.session.intent} day asks for all of it", "", place.text(wanted))
    factor = percent(wanted / written, 1)
    return Step(
        f"a {target.session.intent} day asks for {factor} of it", f"{factor} × {number(written, 2)}", place.text(wanted)
    )


def _most(detail: dict, place: Place) -> list[Step]:
    """A caution on what may be asked at all."""
    most, wanted = detail["most"], detail["wanted"]
    if most >= wanted - NEAR:
        return []
    if abs(most - UNTESTED_SHARE * wanted) < NEAR:
        sum_ = f"{percent(UNTESTED_SHARE)} × {number(wanted, 2)}"
        return [Step("caution: untested here, so no more than this part of it", sum_, place.text(most))]
    return [Step("caution: it is new or long missed, so no more than this in a round", "", place.text(most))]


def _alone(target: Target, place: Place) -> Step:
    detail, spr = target.detail, place.option.movement.seconds_per_repetition
    alone, most = detail["alone"], detail["most"]
    rounds = f"for {place.circuit.rotations} rounds with {percent(place.circuit.headroom)} left"
    sure = f"{percent(target.publication.content['gym']['caution'])} likely"
    if alone >= most - NEAR:
        could = place.text(detail["own_cap"])
        return Step(f"possible here alone, {rounds}, {sure}: {could}, so nothing comes off", "", place.text(alone))
    fits = place.room_s / spr if not place.option.movement.engine and spr else None
    if fits is not None and detail["bound"] == "time":
        return Step(f"the most that fits into the {number(place.room_s)} s of work", "", place.text(alone))
    return Step(f"possible here alone, {rounds}, {sure}", "", place.text(alone))


def _shared(detail: dict, place: Place) -> list[Step]:
    alone, free, share, whole = (detail[name] for name in ("alone", "free", "share", "whole"))
    steps, left = [], number(share, 3)
    if share >= 1 or alone - free < NEAR:
        steps.append(Step("the other stations take nothing off", "", place.text(detail["shared"])))
    else:
        a, f = number(alone, 2), number(free, 2)
        if not free:
            sum_ = f"{left} × {a}"
        elif place.option.dose_kind == "metres" and place.option.movement.engine != "run":
            sum_ = f"∛({f}³ + {left} × ({a}³ − {f}³))"  # power grows with the cube of the speed
        else:
            sum_ = f"{f} + {left} × ({a} − {f})"
        what = (
            f"the part above {place.text(free)} (what critical power does, which tires nothing else)" if free else "it"
        )
        words = f"fair share: the stations tire each other and all give way; {left} of {what} is left here"
        steps.append(Step(words, sum_, place.text(detail["shared"])))
    unit = "5 m" if place.option.dose_kind == "metres" else place.text(2).split(" ")[1]
    return [*steps, Step(f"rounded down to whole {unit}", "", place.text(whole))]


def _way_back(target: Target, place: Place) -> list[Step]:
    """The four weeks after a break; in the first two the work is short as well, see sessions.targets.comeback."""
    week, whole = target.detail.get("week_back", 0), target.detail["whole"]
    if not week or target.detail["bound"] != "return":
        return []
    share = RAMP_SHARES[week - 1]
    ramped = min(place.whole(whole * share), whole)
    words = f"caution: week {week} of 4 after a break or for a new member, {percent(share)} of it, rounded down"
    steps = [Step(words, f"{percent(share)} × {number(whole, 2)}", place.text(ramped))]
    longest = float(longest_work_s(float(place.circuit.interval_s), week))
    part = longest / place.room_s
    if target.dose < ramped - NEAR and part < share:
        rest = f"rest {number(REST_PER_WORK[week - 1])} times as long as the work"
        words = f"caution: {rest}, so {number(longest)} of the {number(place.room_s)} s, at the same pace, rounded down"
        sum_ = f"{number(ramped, 2)} × {number(longest)} ÷ {number(place.room_s)} ÷ {percent(share)}"
        steps.append(Step(words, sum_, place.text(target.dose)))
    return steps


def _by_hand(target: Target, place: Place) -> list[Step]:
    before = target.detail.get("before")
    ladder = target.session.definition.stations[target.station - 1].options
    steps = []
    if before:
        was = ladder[max(before["rung"], 0)]
        text = f"{dose_text(was.dose_kind, before['dose'], before['load_kg'])}, {was.movement.name}"
        steps.append(Step("worked out, before it was set by hand", "", text if before["rung"] >= 0 else "rest"))
    return [*steps, Step("set by hand: this stands, whatever the method says", "", place.text(target.dose))]


def _load(target: Target, place: Place) -> list[Step]:
    if target.load_kg is None:
        return []
    written = load_text(place.option.load_kg)
    return [Step(f"load, of the {written} written: down to what the gym owns", "", load_text(target.load_kg))]
