"""Small circuits and rooms for the tests of the scaling core, and random ones for the property tests."""

from dataclasses import replace

import numpy as np
from hypothesis import strategies as st

from athletes.capacity.constants import ENGINES
from sessions.scaling.circuit import Circuit, Option, Station
from sessions.scaling.constants import REST
from sessions.scaling.room import NO_PIN, Room

PULL = (1.0, 0.0, 0.0, 0.0, 0.3, 0.8, 0.2)
PUSH = (0.0, 1.0, 0.0, 0.0, 0.4, 0.0, 0.1)
WHOLE = (0.6, 0.0, 0.6, 0.6, 0.6, 0.3, 0.8)
NOTHING_SHARED = tuple(tuple(1.0 if p == s else 0.0 for p in range(7)) for s in range(7))
EASY_ENGINES = {
    "row": (200.0, 15_000.0, 20.0),
    "ski": (180.0, 14_000.0, 18.0),
    "bike": (210.0, 17_000.0, 12.0),
    "run": (3.6, 170.0, 28.0),
}


def engine_option(engine="row", dose=15.0, least=1.0, kind=None, setup=3.0, involvement=WHOLE):
    return Option(engine, kind or ("metres" if engine == "run" else "kcal"), dose, least, 1.0, setup, involvement)


def movement_option(dose=10.0, least=1.0, seconds=2.0, setup=2.0, involvement=PULL, kind="repetitions", load=None):
    return Option(None, kind, dose, least, seconds, setup, involvement, load_kg=load)


def circuit(*ladders, window=45.0, rotations=5, interval=60.0, headroom=0.15):
    """A circuit with one station per ladder; an option alone is a ladder of one."""
    stations = tuple(Station(window, ladder if isinstance(ladder, tuple) else (ladder,)) for ladder in ladders)
    return Circuit(stations, rotations, interval, headroom)


def room(plan, n=1, engines=None, most=20.0, engine_sd=0.05, most_sd=0.10, allowed=None):
    """n equal athletes: `engines` (CP, W', ramp) by engine, `most` repetitions broadcast to (n, S, L)."""
    shape = (n, len(plan.stations), max(len(station.options) for station in plan.stations))
    engines = {**EASY_ENGINES, **(engines or {})}
    sd = np.broadcast_to(engine_sd, (3,))
    return Room(
        engine_mean={e: np.tile(np.log(values), (n, 1)) for e, values in engines.items()},
        engine_cov={e: np.tile(np.diag(sd**2), (n, 1, 1)) for e in engines},
        repetitions_mean=np.log(np.broadcast_to(np.asarray(most, float), shape)),
        repetitions_sd=np.full(shape, most_sd),
        allowed=np.ones(shape, bool) if allowed is None else np.broadcast_to(allowed, shape),
    )


@st.composite
def options(draw, involvement=None):
    weights = involvement or tuple(draw(st.lists(st.floats(0.0, 1.0), min_size=7, max_size=7)))
    setup = draw(st.floats(0.0, 10.0))
    engine = draw(st.sampled_from((None, *ENGINES)))
    if engine is None:
        dose = float(draw(st.integers(1, 60)))
        kind = draw(st.sampled_from(("repetitions", "seconds")))
        return movement_option(dose, draw(st.floats(0.0, dose)), draw(st.floats(0.5, 6.0)), setup, weights, kind)
    kind = {"run": "metres", "bike": "kcal"}.get(engine) or draw(st.sampled_from(("kcal", "metres")))
    dose = draw(st.floats(20.0, 500.0)) if kind == "metres" else float(draw(st.integers(2, 40)))
    return engine_option(engine, dose, draw(st.floats(0.0, dose)), kind, setup, weights)


@st.composite
def circuits(draw, most_stations=5, most_rungs=3):
    interval = draw(st.floats(30.0, 180.0))
    stations = draw(
        st.lists(
            st.builds(
                Station,
                st.floats(15.0, interval),
                st.lists(options(), min_size=1, max_size=most_rungs).map(tuple),
            ),
            min_size=1,
            max_size=most_stations,
        )
    )
    rotations, headroom, partners = draw(st.integers(1, 20)), draw(st.floats(0.0, 0.5)), draw(st.integers(1, 2))
    return Circuit(tuple(stations), rotations, interval, headroom, partners)


@st.composite
def rooms(draw, plan, most_athletes=4, correlated=True, limits=False, pins=False):
    """Invented athletes, weak and strong, sure and unsure, with things they may not do."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    n = draw(st.integers(1, most_athletes))
    shape = (n, len(plan.stations), max(len(station.options) for station in plan.stations))
    mean, cov = {}, {}
    for engine, centre in EASY_ENGINES.items():
        mean[engine] = np.log(centre) + rng.normal(size=(n, 3)) * [0.4, 0.6, 0.6]
        root = rng.normal(size=(n, 3, 3)) * rng.choice([0.0, 0.03, 0.2], (n, 1, 1))
        if not correlated:
            root = root * np.eye(3)
        cov[engine] = root @ np.swapaxes(root, 1, 2)
    crowd = Room(
        engine_mean=mean,
        engine_cov=cov,
        repetitions_mean=rng.normal(2.5, 1.0, shape),
        repetitions_sd=rng.choice([0.0, 0.1, 0.4], shape),
        allowed=rng.random(shape) > 0.15,
    )
    crowd = with_limits(crowd, rng) if limits else crowd
    return with_pins(crowd, plan, rng) if pins else crowd


def with_limits(crowd, rng):
    """The same athletes, some of whom may be asked for less."""
    shape = crowd.allowed.shape
    return replace(
        crowd,
        share=rng.choice([0.7, 1.0], shape),
        most_dose=rng.choice([0.4, 3.0, 12.0, np.inf], shape),
        ramp=rng.choice([0.0, 0.5, 0.9, 1.0], shape[:1]),
    )


def with_pins(crowd, plan, rng):
    """The same athletes, a third of whose targets are set by hand, well or badly."""
    shape = crowd.allowed.shape[:2]
    rung = rng.integers(REST, [len(station.options) for station in plan.stations], shape)
    rung = np.where(rng.random(shape) < 0.3, rung, NO_PIN)
    dose = np.where(rung == REST, 0.0, np.exp(rng.uniform(np.log(0.5), np.log(300.0), shape)))
    return replace(crowd, pinned_rung=rung, pinned_dose=dose)
