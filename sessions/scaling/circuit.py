"""A coach's circuit, as the scaling method reads it."""

from dataclasses import dataclass

from athletes.capacity.constants import ENGINES, KCAL_BASE_PER_H, KCAL_SLOPE_PER_W_H, PATTERNS
from sessions.scaling.constants import (
    DEFAULT_HEADROOM,
    DEFAULT_INTERVAL_S,
    HEADROOM_BOUNDS,
    INTERVAL_BOUNDS_S,
    PARTNERS,
    ROTATION_BOUNDS,
)

ENGINE_KINDS = ("kcal", "metres")
MOVEMENT_KINDS = ("repetitions", "load_repetitions", "seconds")
DOSE_KINDS = ENGINE_KINDS + MOVEMENT_KINDS


@dataclass(frozen=True)
class Option:
    """One rung of a station's swap ladder: a movement or engine and its prescribed dose.

    `dose` and `least_dose` are in the unit of `dose_kind`. `seconds_per_repetition` matters for repetitions only.
    `involvement` holds seven weights from 0 to 1, in the order of `PATTERNS`. `kcal_base` [kcal/h] and `kcal_slope`
    [kcal/h per W] belong to the machine's monitor.
    """

    engine: str | None
    dose_kind: str
    dose: float
    least_dose: float
    seconds_per_repetition: float
    setup_s: float
    involvement: tuple[float, ...]
    kcal_base: float = KCAL_BASE_PER_H
    kcal_slope: float = KCAL_SLOPE_PER_W_H
    load_kg: float | None = None

    @property
    def seconds_per_unit(self):
        """Seconds that one unit of a movement's dose takes."""
        return 1.0 if self.dose_kind == "seconds" else self.seconds_per_repetition


@dataclass(frozen=True)
class Station:
    """One interval of the rotation: its work window [s] and its swap ladder, the prescription first."""

    work_window_s: float
    options: tuple[Option, ...]


@dataclass(frozen=True)
class Circuit:
    """Stations in the order of the rotation, one per interval [s], repeated for `rotations`.

    `headroom` is the share of the capacity that the coach wants left in the last round. With two `partners` at a
    station one works an interval while the other rests; then they change, and after both have worked all move on.
    """

    stations: tuple[Station, ...]
    rotations: int
    interval_s: float = DEFAULT_INTERVAL_S
    headroom: float = DEFAULT_HEADROOM
    partners: int = 1

    @property
    def step_s(self):
        """Seconds from an athlete's set at one station to that at the next station."""
        return self.partners * self.interval_s

    @property
    def rotation_s(self):
        """Seconds from an athlete's set at a station to the next one there."""
        return len(self.stations) * self.step_s

    @property
    def duration_s(self):
        """Seconds that the whole circuit takes."""
        return self.rotations * self.rotation_s

    def validate(self):
        """Raise ValueError, with a sentence that says what to change, when the circuit cannot be scaled."""
        _within(self.interval_s, INTERVAL_BOUNDS_S, "The interval", "seconds")
        _within(self.rotations, ROTATION_BOUNDS, "The number of rotations")
        _within(self.headroom, HEADROOM_BOUNDS, "The headroom")
        _require(self.rotations == int(self.rotations), "Rotations come in whole numbers.")
        _require(self.partners in PARTNERS, "One athlete or two share a station: choose 1 or 2 partners.")
        _require(len(self.stations) > 0, "Add a station: the circuit has none.")
        for number, station in enumerate(self.stations, start=1):
            _validate_station(station, f"Station {number}", self.interval_s)


def _validate_station(station, name, interval_s):
    window = station.work_window_s
    _require(window > 0, f"{name}: give it a work window above zero.")
    _require(
        window <= interval_s,
        f"{name}: the work window of {window:g} s is longer than the interval of {interval_s:g} s; shorten it.",
    )
    _require(len(station.options) > 0, f"{name}: choose a movement.")
    for option in station.options:
        _validate_option(option, name, window)


def _validate_option(option, name, window):
    _require(option.dose_kind in DOSE_KINDS, f"{name}: choose a dose in {', '.join(DOSE_KINDS)}.")
    _require(0 < option.dose < float("inf"), f"{name}: the dose must be above zero.")
    _require(0 <= option.least_dose <= option.dose, f"{name}: the least useful dose lies between zero and the dose.")
    _require(option.setup_s >= 0, f"{name}: set-up time cannot be negative.")
    _require(
        option.setup_s < window,
        f"{name}: {option.setup_s:g} s of set-up leave no time in a window of {window:g} s; lengthen the window.",
    )
    weights = option.involvement
    _require(len(weights) == len(PATTERNS), f"{name}: give one involvement weight for each of {', '.join(PATTERNS)}.")
    _require(all(0 <= weight <= 1 for weight in weights), f"{name}: involvement weights lie between 0 and 1.")
    if option.engine is None:
        _validate_movement(option, name)
    else:
        _validate_engine(option, name)


def _validate_engine(option, name):
    _require(option.engine in ENGINES, f"{name}: choose an engine: {', '.join(ENGINES)}.")
    _require(option.dose_kind in ENGINE_KINDS, f"{name}: an engine's dose is in calories or metres.")
    _require((option.engine, option.dose_kind) != ("run", "kcal"), f"{name}: give a run in metres, not in calories.")
    _require(
        (option.engine, option.dose_kind) != ("bike", "metres"),
        f"{name}: give the bike in calories; bikes do not share one measure of metres.",
    )
    _require(option.kcal_base >= 0 and option.kcal_slope > 0, f"{name}: the machine's calorie formula is not usable.")


def _validate_movement(option, name):
    _require(option.dose_kind in MOVEMENT_KINDS, f"{name}: a movement's dose is in repetitions or seconds.")
    _require(option.seconds_per_unit > 0, f"{name}: say how many seconds one repetition takes.")
    if option.dose_kind == "load_repetitions":
        _require(option.load_kg is not None and option.load_kg > 0, f"{name}: give the load in kilograms.")


def _within(value, bounds, name, unit=""):
    low, high = bounds
    _require(low <= value <= high, f"{name} must be between {low:g} and {high:g} {unit}".rstrip() + ".")


def _require(condition, sentence):
    if not condition:
        raise ValueError(sentence)
