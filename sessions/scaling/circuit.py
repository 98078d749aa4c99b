"""A coach's circuit, as the scaling method reads it."""

from dataclasses import dataclass

from athletes.capacity.constants import ENGINES, KCAL_BASE_PER_H, KCAL_SLOPE_PER_W_H, PATTERNS
from sessions.scaling.constants import (
    DEFAULT_HEADROOM,
    DEFAULT_INTERVAL_S,
    FORMATS,
    HEADROOM_BOUNDS,
    INTERVAL_BOUNDS_S,
    LEAST_SHARE,
    LIMIT_BOUNDS_S,
    PARTNERS,
    ROTATION_BOUNDS,
    SCALINGS,
)
from sessions.scaling.steps import nearest_step, step_of

ENGINE_KINDS = ("kcal", "metres", "seconds")
MOVEMENT_KINDS = ("repetitions", "load_repetitions", "seconds")
DOSE_KINDS = tuple(dict.fromkeys(ENGINE_KINDS + MOVEMENT_KINDS))
RESERVE_BOUNDS = (0.0, 10.0)  # repetitions in reserve (ours)


@dataclass(frozen=True)
class Option:
    """One rung of a station's swap ladder: a movement or engine and its prescribed dose.

    `dose` and `least_dose`, the top and the foot of the coach's range, are in the unit of `dose_kind`; without a range
    `least_dose` is None or 0. `seconds_per_repetition` matters for repetitions only. `involvement` holds seven weights
    from 0 to 1, in the order of `PATTERNS`. `kcal_base` [kcal/h] and `kcal_slope` [kcal/h per W] belong to the
    machine's monitor. A `paced` movement (burpees, jumps) is limited by breath and rhythm before the muscle. Of a
    loaded lift `percent` of the maximum or repetitions in `reserve` may be written instead of `load_kg`. The dose of a
    rung `from_library`, below the coach's own ladder, is the one that asks as much as the prescription (`equal_dose`).
    Seconds on an engine are at a pace: all of them are done, and the pace alone is worked out.
    """

    engine: str | None
    dose_kind: str
    dose: float
    least_dose: float | None
    seconds_per_repetition: float
    setup_s: float
    involvement: tuple[float, ...]
    kcal_base: float = KCAL_BASE_PER_H
    kcal_slope: float = KCAL_SLOPE_PER_W_H
    load_kg: float | None = None
    paced: bool = False
    makes_sore: bool = False
    needs_skill: bool = False
    from_library: bool = False
    percent: float | None = None
    reserve: float | None = None

    @property
    def least(self) -> float:
        """The least useful dose: the foot of the range, or half the dose."""
        return self.least_dose or LEAST_SHARE * self.dose

    @property
    def at_pace(self) -> bool:
        return self.engine is not None and self.dose_kind == "seconds"

    def work_s(self, window_s: float) -> float:
        """Seconds of a work window in which the work is done."""
        return min(self.dose, window_s) if self.at_pace else window_s - self.setup_s

    @property
    def seconds_per_unit(self) -> float:
        """Seconds that one unit of a movement's dose takes."""
        return 1.0 if self.dose_kind == "seconds" else self.seconds_per_repetition


@dataclass(frozen=True)
class Station:
    """One interval of a round: its work window [s] and its swap ladder, the prescription first."""

    work_window_s: float
    options: tuple[Option, ...]


@dataclass(frozen=True)
class Circuit:
    """Stations in the order of a round, one per interval [s], repeated for so many `rotations`: the rounds.

    `headroom` is the share of the capacity that the coach wants left in the last round, where no intent of the day says
    so. With two `partners` at a station one works an interval while the other rests; then they change, and after both
    have worked all move on. `scaling` says what gives way for those who cannot do all of it: the "dose", or the
    "rounds", so that the dose is kept. With `open_last` the last round is done as far as it goes.

    `format` "for_time" goes through all rounds without intervals, within the cap `limit_s` [s]; "as_many" does as many
    rounds as fit in it. Then intervals and work windows mean nothing.
    """

    stations: tuple[Station, ...]
    rotations: int
    interval_s: float = DEFAULT_INTERVAL_S
    headroom: float = DEFAULT_HEADROOM
    partners: int = 1
    scaling: str = "dose"
    open_last: bool = False
    format: str = "every"
    limit_s: float | None = None

    @property
    def step_s(self) -> float:
        """Seconds from an athlete's set at one station to that at the next station."""
        return self.partners * self.interval_s

    @property
    def rotation_s(self) -> float:
        """Seconds from an athlete's set at a station to the next one there: a round."""
        return len(self.stations) * self.step_s

    @property
    def duration_s(self) -> float:
        """Seconds that the whole circuit takes."""
        return self.rotations * self.rotation_s

    def validate(self) -> None:
        """Raise ValueError, with a sentence that says what to change, when the circuit cannot be scaled."""
        _require(self.format in FORMATS, f"A circuit runs in one of these ways: {', '.join(FORMATS)}.")
        if self.format == "every":
            _within(self.interval_s, INTERVAL_BOUNDS_S, "The interval", "seconds")
        else:
            _within(self.limit_s or 0.0, LIMIT_BOUNDS_S, "The limit", "seconds")
            _require(
                self.partners == 1 and self.scaling == "dose", "Off the clock all work alone, and the dose scales."
            )
        _within(self.rotations, ROTATION_BOUNDS, "The number of rounds")
        _within(self.headroom, HEADROOM_BOUNDS, "The headroom")
        _require(self.rotations == int(self.rotations), "Rounds come in whole numbers.")
        _require(self.partners in PARTNERS, "One athlete or two share a station: choose 1 or 2 partners.")
        _require(self.scaling in SCALINGS, f"Scale by one of {', '.join(SCALINGS)}.")
        _require(len(self.stations) > 0, "Add a station: the circuit has none.")
        at_pace = any(option.at_pace for station in self.stations for option in station.options)
        _require(
            self.scaling == "dose" or not at_pace,
            "Seconds at a pace scale by the pace: let the dose give way, not the rounds.",
        )
        for number, station in enumerate(self.stations, start=1):
            on_clock = self.format == "every"
            _validate_station(station, f"Station {number}", self.interval_s if on_clock else None)


def equal_dose(dose: float, times_as_many: float, dose_kind: str) -> float:
    """The dose of another form of a movement that asks as much, in whole steps.

    `times_as_many` is how many of it people do for one of the written form (common-practice ratio, above 0).
    """
    asked = dose * times_as_many
    return float(nearest_step(asked, dose_kind == "metres", step_of(dose_kind)))


def _validate_station(station: Station, name: str, interval_s: float | None) -> None:
    """`interval_s` is None off the clock."""
    window = station.work_window_s if interval_s is not None else float("inf")
    _require(window > 0, f"{name}: give it a work time above zero.")
    _require(
        interval_s is None or window <= interval_s,
        f"{name}: the work time of {window:g} s is longer than the interval of {interval_s or 0.0:g} s; shorten it.",
    )
    _require(len(station.options) > 0, f"{name}: choose a movement.")
    for option in station.options:
        _validate_option(option, name, window)


def _validate_option(option: Option, name: str, window: float) -> None:
    _require(option.dose_kind in DOSE_KINDS, f"{name}: choose a dose in {', '.join(DOSE_KINDS)}.")
    _require(0 < option.dose < float("inf"), f"{name}: the dose must be above zero.")
    least = option.least_dose or 0.0
    _require(least >= 0, f"{name}: “At least” cannot be negative.")
    _require(
        least <= option.dose,
        f"{name}: the range is upside down, {least:g} to {option.dose:g}; write the smaller number first.",
    )
    _require(option.setup_s >= 0, f"{name}: set-up time cannot be negative.")
    _require(
        option.setup_s < window,
        f"{name}: {option.setup_s:g} s of set-up leave no time in a work time of {window:g} s; lengthen it.",
    )
    weights = option.involvement
    _require(len(weights) == len(PATTERNS), f"{name}: give one involvement weight for each of {', '.join(PATTERNS)}.")
    _require(all(0 <= weight <= 1 for weight in weights), f"{name}: involvement weights lie between 0 and 1.")
    if option.engine is None:
        _validate_movement(option, name)
    else:
        _validate_engine(option, name)


def _validate_engine(option: Option, name: str) -> None:
    _require(option.engine in ENGINES, f"{name}: choose an engine: {', '.join(ENGINES)}.")
    _require(option.dose_kind in ENGINE_KINDS, f"{name}: an engine's dose is in calories, metres or seconds.")
    _require((option.engine, option.dose_kind) != ("run", "kcal"), f"{name}: give a run in metres, not in calories.")
    _require(
        (option.engine, option.dose_kind) != ("bike", "metres"),
        f"{name}: give the bike in calories; bikes do not share one measure of metres.",
    )
    _require(option.kcal_base >= 0 and option.kcal_slope > 0, f"{name}: the machine's calorie formula is not usable.")
    _require(not option.paced, f"{name}: only a movement is paced by repetitions a minute.")


def _validate_movement(option: Option, name: str) -> None:
    _require(option.dose_kind in MOVEMENT_KINDS, f"{name}: a movement's dose is in repetitions or seconds.")
    _require(option.seconds_per_unit > 0, f"{name}: say how many seconds one repetition takes.")
    _require(
        not option.paced or option.dose_kind == "repetitions", f"{name}: a paced movement's dose is in repetitions."
    )
    written = [way for way in (option.load_kg, option.percent, option.reserve) if way is not None]
    if option.dose_kind == "load_repetitions":
        _require(
            len(written) > 0,
            f"{name}: give the load in kilograms, as a percentage of the maximum or by repetitions in reserve.",
        )
    _require(option.load_kg is None or option.load_kg > 0, f"{name}: the load must be above zero.")
    _require(
        option.percent is None or 0 < option.percent <= 100,
        f"{name}: a percentage of the maximum lies above 0 and not above 100.",
    )
    low, high = RESERVE_BOUNDS
    _require(
        option.reserve is None or low <= option.reserve <= high,
        f"{name}: repetitions in reserve lie between {low:g} and {high:g}.",
    )


def _within(value: float, bounds: tuple[float, float], name: str, unit: str = "") -> None:
    low, high = bounds
    _require(low <= value <= high, f"{name} must be between {low:g} and {high:g} {unit}".rstrip() + ".")


def _require(condition: bool, sentence: str) -> None:
    if not condition:
        raise ValueError(sentence)
