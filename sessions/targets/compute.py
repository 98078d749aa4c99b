"""People + history + by hand + equipment + a day → targets: the one assembly, used wherever a target is made.

The only place where rows become the arrays of the scaling method, and its answers rows again.
"""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, NamedTuple

import numpy as np

from athletes.capacity.arrays import Array, BoolArray, IntArray
from athletes.estimates.people import People
from athletes.models import Limitation, Override
from sessions.circuits.definition import Definition, Movement, Option
from sessions.models import Target
from sessions.scaling import circuit as method
from sessions.scaling.cautions import ramp_week, rounds_share
from sessions.scaling.constants import NO_PIN, REST, UNTESTED_SHARE
from sessions.scaling.loads import MOST_BARS, bars_of, drawn_to_bars, load_for, most_repetitions
from sessions.scaling.pieces import usual
from sessions.scaling.room import Room
from sessions.scaling.rungs import Rungs
from sessions.scaling.scale import asked, scale
from sessions.scaling.targets import Reason, Swap, Targets
from sessions.targets.detail import Detail, frozen
from sessions.targets.history import History
from sessions.targets.occasion import Occasion, allowed_rung

METHOD = "4"
ADULT_YEARS = 18.0  # below it nobody gets a target without a coach's standing consent (science reference, section 12)
FEW_TESTS = 3  # benchmarks from which on a movement that nobody here was ever tested on is not a first day (ours)
MOST_NAMES = 3  # benchmarks named behind a number
COUNTED = ("repetitions", "load_repetitions")  # dose kinds that the guard of unaccustomed volume counts


class Computed(NamedTuple):
    """One target as it is frozen: the columns of `sessions.models.Target` after publication and session."""

    athlete: int
    station: int
    rung: int
    dose: float
    load_kg: float | None
    rounds: int
    hold: float | None
    finish_by_s: float
    headroom: float
    probability: float
    sd_log: float
    detail: dict[str, Any]


def target_of(found: Computed) -> Target:
    """What was found as a row that is not kept."""
    return Target(athlete_id=found.athlete, **{name: getattr(found, name) for name in Computed._fields[1:]})


@dataclass(frozen=True, eq=False)
class Scaled:
    """What the method says of a room: its `targets`, the `room` they are of, and everyone's load [kg] at every rung,
    (n, S, L), NaN where there is none."""

    circuit: method.Circuit
    room: Room
    targets: Targets
    load_kg: Array


def compute(definition: Definition, people: People, history: History, occasion: Occasion) -> Iterator[Computed]:
    """The targets of these people in a circuit on a day, station by station.

    ValueError, in words for the coach, for a circuit that cannot be scaled.
    """
    yield from rows_of(scaled(definition, people, history, occasion), definition, people, occasion)


def scaled(definition: Definition, people: People, history: History, occasion: Occasion) -> Scaled:
    """The arrays behind `compute`."""
    circuit, room, load_kg, first = ready(definition, people, history, occasion)
    targets = scale(circuit, room, headrooms=occasion.headrooms, **dict[str, Any](people.taught.model))
    if first is not None:
        targets = replace(targets, swap=np.where(targets.rung == first.rung, first.swap, targets.swap))
    return Scaled(circuit, room, targets, load_kg)


def ready(
    definition: Definition, people: People, history: History, occasion: Occasion
) -> tuple[method.Circuit, Room, Array, Rungs | None]:
    """A circuit and the room as the method takes them, the loads, and the rungs by which the loads were chosen.

    Loads are set twice where there are any: at full intent for the choice of the rung and of the few bars that stand at
    a station, which must not change with the day, and then for the day.
    """
    circuit = circuit_of(definition, occasion.headroom(definition))
    circuit.validate()
    # Off the clock what is lifted is judged by how long a round usually takes
    timed = circuit if definition.on_the_clock else usual(circuit)
    doubt: dict[str, Any] = dict(people.taught.model)
    hard = min(occasion.headrooms["hard"], circuit.headroom)
    room, load_kg = room_of(definition, timed, people, history, occasion, hard)
    if np.isnan(load_kg).all():
        return circuit, room, load_kg, None
    rung, swap, _ = asked(circuit, room, headrooms=occasion.headrooms, **doubt)
    first = Rungs(rung, swap)
    occasion = replace(occasion, bars=_bars(definition, load_kg, first.rung, occasion))
    room, load_kg = room_of(definition, timed, people, history, occasion, circuit.headroom, first.rung)
    return circuit, room, load_kg, first


def circuit_of(definition: Definition, headroom: float) -> method.Circuit:
    """A frozen circuit as the method reads it, on a day that wants `headroom` left in the tank."""
    return method.Circuit(
        stations=tuple(
            method.Station(station.work_window_s, tuple(_option(option) for option in station.options))
            for station in definition.stations
        ),
        rotations=definition.rotations,
        interval_s=float(definition.interval_s),
        headroom=headroom,
        partners=definition.partners,
        scaling=definition.scaling,
        open_last=definition.open_last,
        format=definition.format,
        limit_s=None if definition.limit_s is None else float(definition.limit_s),
    )


def _option(option: Option) -> method.Option:
    movement = option.movement
    return method.Option(
        engine=movement.engine or None,
        dose_kind=option.dose_kind,
        dose=option.dose,
        least_dose=option.least_dose,
        seconds_per_repetition=movement.seconds_per_repetition,
        setup_s=movement.setup_s,
        involvement=movement.involvement,
        kcal_base=movement.kcal_base,
        kcal_slope=movement.kcal_slope,
        load_kg=option.load_kg,
        paced=movement.paced,
        makes_sore=movement.high_eccentric,
        needs_skill=movement.needs_skill,
        from_library=option.from_library,
        percent=option.percent,
        reserve=option.reserve,
    )


# --- Rows → arrays ---


def room_of(
    definition: Definition,
    circuit: method.Circuit,
    people: People,
    history: History,
    occasion: Occasion,
    headroom: float,
    at_rung: IntArray | None = None,
) -> tuple[Room, Array]:
    """What these people can, may and are set to do at each rung, and their loads [kg], (n, S, L).

    Loads leave `headroom`, and where `at_rung` (n, S) is known they are drawn to the bars of a class, and no harder
    rung than that one is allowed.
    """
    shape = (len(people), len(circuit.stations), max(len(station.options) for station in circuit.stations))
    mean, sd, load_kg = (np.full(shape, np.nan) for _ in range(3))
    paced_mean, paced_cov = np.full((*shape, 3), np.nan), np.full((*shape, 3, 3), np.nan)
    allowed, unknown, untested = (np.zeros(shape, bool) for _ in range(3))
    most = np.full(shape, np.inf)
    week = ramp_week(history.days_since_return(occasion.day))
    by_hand = _set_by_hand(definition, people, occasion)
    at_stations = _stations_by_movement(definition)
    for s, rung, option in _options(definition):
        movement, cell = option.movement, (slice(None), s, rung)
        allowed[cell] = people.allowed(occasion.day, movement.id, movement.involvement)
        unknown[cell] = nobody_tested(people, movement)
        untested[cell] = first_times(definition, people, s, option)
        if movement.high_eccentric and option.dose_kind in COUNTED:
            most[cell] = history.most_in_session(occasion.day, movement) / at_stations[movement.id]
        if movement.engine:
            continue
        if movement.paced:
            paced_mean[cell], paced_cov[cell] = people.paced(movement, movement.involvement)
            continue
        mean[cell], sd[cell] = people.movement(movement, movement.involvement)
        if option.loaded:
            share = rounds_share(week) * np.where(untested[cell], UNTESTED_SHARE, 1.0)
            own = _loads(option, circuit, mean[cell], sd[cell], week, share, headroom, occasion)
            if at_rung is not None and option.load_kg:
                here = at_rung[:, s] == rung
                own[here] = drawn_to_bars(own[here], occasion.bars[s + 1, rung])
            set_here = by_hand.rung[:, s] == rung
            own = np.where(set_here & ~np.isnan(by_hand.load_kg[:, s]), by_hand.load_kg[:, s], own)
            allowed[cell] &= ~np.isnan(own) | set_here
            lightest = np.nanmin(own) if not np.isnan(own).all() else (option.load_kg or 1.0)
            load_kg[cell] = np.where(np.isnan(own), lightest, own)
            mean[cell], sd[cell] = most_repetitions(mean[cell], sd[cell], load_kg[cell])
    if at_rung is not None:
        harder = np.arange(shape[2]) < np.where(at_rung == REST, 0, at_rung)[..., None]
        allowed &= ~harder | (by_hand.rung != NO_PIN)[..., None]
    room = Room(
        people.engine_mean,
        people.engine_cov,
        mean,
        sd,
        allowed,
        paced_mean=paced_mean,
        paced_cov=paced_cov,
        fitness=people.fitness,
        unknown=unknown,
        untested=untested,
        newcomer_week=week,
        most_in_session=most,
        no_target=no_target(people, history, occasion.day),
        pinned_rung=by_hand.rung,
        pinned_dose=by_hand.dose,
        pinned_rounds=by_hand.rounds,
    )
    return room, load_kg


def nobody_tested(people: People, movement: Movement) -> bool:
    """Whether nobody in the gym was ever tested on a movement or its ladder: then the written dose is the anchor."""
    near = people.kin.get(movement.id, {movement.id})
    return not movement.engine and not (people.tested_here & near)


def first_times(definition: Definition, people: People, s: int, option: Option) -> BoolArray:
    """Who does an option for the first time, as far as anybody knows, (n,).

    A movement that nobody here was ever tested on is a first time only for who has hardly been tested at all: for the
    others the coach's dose stands.
    """
    movement = option.movement
    near = {other.movement.id for other in definition.stations[s].options}
    new_here = nobody_tested(people, movement)
    return np.array(
        [
            not people.known(row, movement.engine, movement.id, near)
            and not (new_here and len(people.own.get(row, ())) >= FEW_TESTS)
            for row in range(len(people))
        ],
        bool,
    )


def no_target(people: People, history: History, day: date) -> BoolArray:
    """Whose coach sets everything, (n,): minors and pregnancy, unless a coach released them."""
    minor = np.nan_to_num(people.age(day), nan=ADULT_YEARS) < ADULT_YEARS
    pregnant = np.array(
        [
            any(r.kind == Limitation.Kind.PREGNANCY and r.holds(day) for r in people.restrictions.get(row, ()))
            for row in range(len(people))
        ],
        bool,
    )
    released = [history.override(row, Override.Caution.NO_TARGET, day) is not None for row in range(len(people))]
    return np.asarray((minor | pregnant) & ~np.array(released, bool))


def _loads(
    option: Option,
    circuit: method.Circuit,
    log_mean: Array,
    log_sd: Array,
    week: IntArray,
    share: Array,
    headroom: float,
    occasion: Occasion,
) -> Array:
    """Everyone's load [kg] at a loaded option, (n,); NaN where even the lightest that the gym owns is too heavy."""
    return load_for(
        option.load_kg,
        max(1.0, np.floor(option.dose)),
        log_mean,
        option.movement.rack,
        rotations=circuit.rotations,
        rotation_s=circuit.rotation_s,
        headroom=np.where(week > 0, max(headroom, occasion.headrooms["steady"]), headroom),
        percent=option.percent,
        reserve=option.reserve,
        share=share,
        log_sd=log_sd,
    )


def _bars(
    definition: Definition, load_kg: Array, rung: IntArray, occasion: Occasion
) -> dict[tuple[int, int], tuple[float, ...]]:
    """The bars [kg] of each (station, rung): those that stand there already, or else the best for these people.

    Where a percentage or repetitions in reserve are written everyone loads their own.
    """
    found: dict[tuple[int, int], tuple[float, ...]] = {}
    for s, place, option in _options(definition):
        if not option.load_kg:
            continue
        standing = occasion.bars.get((s + 1, place), ())
        if len(standing) < MOST_BARS:
            standing = tuple(bars_of(load_kg[rung[:, s] == place, s, place], MOST_BARS).tolist())
        found[s + 1, place] = standing
    return found


@dataclass(frozen=True, eq=False)
class _ByHand:
    """Rungs, doses, loads [kg] and rounds set by hand, (n, S) each; 0 rounds where the method finds them."""

    rung: IntArray
    dose: Array
    load_kg: Array
    rounds: IntArray


def _set_by_hand(definition: Definition, people: People, occasion: Occasion) -> _ByHand:
    """What was set by hand; a target that fits no rung any more is left out."""
    shape = (len(people), len(definition.stations))
    found = _ByHand(np.full(shape, NO_PIN), np.zeros(shape), np.full(shape, np.nan), np.zeros(shape, np.int64))
    if not occasion.pins:
        return found
    for row, athlete in enumerate(people.athletes):
        for s, station in enumerate(definition.stations):
            pin = occasion.pins.get((athlete.pk, s + 1))
            if pin is None:
                continue
            rung = allowed_rung(station, pin, people.restrictions.get(row, ()), occasion.day)
            if rung is not None:
                found.rung[row, s], found.dose[row, s] = rung, pin.dose
                found.load_kg[row, s] = np.nan if pin.load_kg is None else pin.load_kg
                found.rounds[row, s] = occasion.rounds.get((athlete.pk, s + 1), 0)
    return found


def _stations_by_movement(definition: Definition) -> Counter[int]:
    """At how many stations each movement may be done, so that a limit for the session holds for all of them."""
    return Counter(movement for station in definition.stations for movement in {o.movement.id for o in station.options})


def _options(definition: Definition) -> Iterator[tuple[int, int, Option]]:
    for s, station in enumerate(definition.stations):
        for rung, option in enumerate(station.options):
            yield s, rung, option


# --- Arrays → rows ---


def rows_of(found: Scaled, definition: Definition, people: People, occasion: Occasion) -> Iterator[Computed]:
    """What was found as the columns of targets, station by station."""
    columns, expected = _columns(found), _expected(found.targets)
    wanted, weeks = occasion.headroom(definition), found.room.week.tolist()
    for s, station in enumerate(definition.stations):
        settings = [occasion.settings.advice(option, people) for option in station.options]
        for row, athlete in enumerate(people.athletes):
            at = {name: values[row][s] for name, values in columns.items()}
            rung = at["rung"]
            option = station.options[max(rung, 0)]
            subject = option.movement.engine or option.movement.id
            efforts = people.efforts.get(subject, {}).get(row, [])
            detail = Detail(
                reason=Reason(at["reason"]),
                reason_station=at["reason_station"] + 1,
                reason_movement=_movement_at(definition, columns, row, at["reason_station"]),
                swap=Swap(at["swap"]),
                own=at["own_dose"],
                written=at["written"],
                least=at["least"],
                demand=tuple(found.targets.demand[row, s].round(3).tolist()),
                cost=at["cost"],
                free=at["free"],
                as_prescribed=int(found.targets.rounds_as_prescribed[row]),
                expected_rpe=_or_none(found.targets.expected_rpe[row], 1),
                intent=occasion.intent,
                hot=occasion.hot,
                day_headroom=wanted,
                benchmarks=tuple(people.benchmarks(efforts)[:MOST_NAMES]),
                tested=people.tested(row, option.movement.engine, option.movement.id),
                untested=bool(found.room.flags("untested")[row, s, max(rung, 0)]),
                week=weeks[row],
                open_last=at["open_last"],
                expected=tuple(expected[row]),
                setting=(settings[rung] or [""] * len(people))[row] if rung >= 0 else "",
                method=METHOD,
            )
            if detail.by_hand:
                pin = occasion.pins[athlete.pk, s + 1]
                detail = replace(detail, by=str(pin.made_by or ""), by_why=pin.reason)
            yield Computed(
                athlete=athlete.pk,
                station=s + 1,
                rung=rung,
                dose=at["dose"],
                load_kg=_or_none(found.load_kg[row, s, rung], 3) if rung >= 0 else None,
                rounds=at["rounds"],
                hold=_or_none(at["hold"], 3),
                finish_by_s=at["finish_by_s"],
                headroom=at["headroom"],
                probability=at["probability"],
                sd_log=at["sd_log"],
                detail=frozen(detail),
            )


def _movement_at(definition: Definition, columns: Mapping[str, list[list[Any]]], row: int, s: int) -> str:
    """What an athlete does at a station, by its index; empty for −1."""
    return "" if s < 0 else definition.stations[s].options[max(columns["rung"][row][s], 0)].movement.name


def _columns(found: Scaled) -> Mapping[str, list[list[Any]]]:
    """The arrays as nested lists of plain numbers, rounded to what is worth keeping."""
    rounded = ("dose", "finish_by_s", "headroom", "probability", "sd_log", "own_dose", "written", "least")
    columns = {name: np.round(getattr(found.targets, name), 4).tolist() for name in rounded}
    for name in ("cost", "free"):
        columns[name] = np.round(getattr(found.targets, name), 6).tolist()
    for name in ("rung", "rounds", "hold", "reason", "reason_station", "swap", "open_last"):
        columns[name] = getattr(found.targets, name).tolist()
    return columns


def _expected(targets: Targets) -> list[list[float]]:
    """What everyone's whole is expected to come to; nothing on the clock, and where nothing is asked."""
    return [row if np.isfinite(row).all() else [] for row in targets.expected.round(3).tolist()]


def _or_none(value: float, digits: int) -> float | None:
    return None if np.isnan(value) else round(float(value), digits)
