"""Small circuits and rooms for the tests of the scaling core, and random ones for the property tests."""

from dataclasses import replace

import numpy as np
from hypothesis import Phase, settings
from hypothesis import strategies as st

from athletes.capacity.constants import ENGINES
from sessions.scaling.circuit import Circuit, Option, Station
from sessions.scaling.room import Room

PULL = (1.0, 0.0, 0.0, 0.0, 0.3, 0.8, 0.2)
PUSH = (0.0, 1.0, 0.0, 0.0, 0.4, 0.0, 0.1)
WHOLE = (0.6, 0.0, 0.6, 0.6, 0.6, 0.3, 0.8)
NOTHING_SHARED = tuple(tuple(1.0 if p == s else 0.0 for p in range(7)) for s in range(7))
ENGINE_CENTRES = {
    "row": (200.0, 15_000.0, 20.0),
    "ski": (180.0, 14_000.0, 18.0),
    "bike": (210.0, 17_000.0, 12.0),
    "run": (3.6, 170.0, 28.0),
}
PACED_CENTRE = (15.0, 400.0, 10.0)  # repetitions a minute, × s, s


def quick(examples):
    """Settings without shrinking: a room is no easier to read for being smaller, and shrinking takes minutes."""
    return settings(max_examples=examples, deadline=None, phases=(Phase.explicit, Phase.reuse, Phase.generate))


def engine_option(engine="row", dose=15.0, least=None, kind=None, setup=3.0, involvement=WHOLE, **flags):
    kind = kind or ("metres" if engine == "run" else "kcal")
    return Option(engine, kind, dose, least, 1.0, setup, involvement, **flags)


def movement_option(dose=10.0, least=None, seconds=2.0, setup=2.0, involvement=PULL, kind="repetitions", **flags):
    return Option(None, kind, dose, least, seconds, setup, involvement, **flags)


def circuit(*ladders, window=45.0, rotations=5, interval=60.0, headroom=0.10, **more):
    """A circuit with one station per ladder; an option alone is a ladder of one."""
    stations = tuple(Station(window, ladder if isinstance(ladder, tuple) else (ladder,)) for ladder in ladders)
    return Circuit(stations, rotations, interval, headroom, **more)


def shape_of(plan, n):
    return n, len(plan.stations), max(len(station.options) for station in plan.stations)


def room(plan, n=1, engines=None, most=20.0, engine_sd=0.02, most_sd=0.08, allowed=None, **more):
    """n equal athletes: `engines` (CP, W', ramp) by engine, `most` repetitions broadcast to (n, S, L)."""
    shape, engines = shape_of(plan, n), {**ENGINE_CENTRES, **(engines or {})}
    return Room(
        engine_mean={e: np.tile(np.log(values), (n, 1)) for e, values in engines.items()},
        engine_cov={e: np.tile(np.diag(np.full(3, engine_sd) ** 2), (n, 1, 1)) for e in engines},
        repetitions_mean=np.log(np.broadcast_to(np.asarray(most, float), shape)),
        repetitions_sd=np.full(shape, most_sd),
        allowed=np.ones(shape, bool) if allowed is None else np.broadcast_to(allowed, shape),
        **more,
    )


@st.composite
def options(draw):
    """Anything that a coach might write; doses that somebody can do."""
    weights = tuple(draw(st.lists(st.sampled_from((0.0, 0.0, 0.3, 0.7, 1.0)), min_size=7, max_size=7)))
    setup = draw(st.floats(0.0, 8.0))
    engine = draw(st.sampled_from((None, None, *ENGINES)))
    foot = draw(st.sampled_from((None, None, 0.6, 0.9)))
    flags = {"makes_sore": draw(st.booleans()), "needs_skill": draw(st.booleans())}
    if engine is None:
        kind = draw(st.sampled_from(("repetitions", "repetitions", "seconds")))
        dose = float(draw(st.integers(1, 30))) if kind == "repetitions" else float(draw(st.integers(5, 60)))
        flags["paced"] = kind == "repetitions" and draw(st.booleans())
        least = foot and foot * dose
        return movement_option(dose, least, draw(st.floats(0.8, 4.0)), setup, weights, kind, **flags)
    kind = {"run": "metres", "bike": "kcal"}.get(engine) or draw(st.sampled_from(("kcal", "metres")))
    dose = float(draw(st.integers(4, 60)) * 10) if kind == "metres" else float(draw(st.integers(4, 30)))
    return engine_option(engine, dose, foot and foot * dose, kind, setup, weights, **flags)


@st.composite
def circuits(draw, most_stations=5, most_rungs=3):
    interval = draw(st.floats(40.0, 150.0))
    ladders = st.lists(options(), min_size=1, max_size=most_rungs).map(tuple)
    station = st.builds(Station, st.floats(20.0, interval), ladders)
    stations = draw(st.lists(station, min_size=1, max_size=most_stations))
    headroom, partners = draw(st.sampled_from((0.0, 0.1, 0.17, 0.25, 0.45))), draw(st.integers(1, 2))
    return Circuit(tuple(stations), draw(st.integers(1, 20)), interval, headroom, partners)


@st.composite
def rooms(draw, plan, n=6, cautions=False, spread=1.0):
    """Invented athletes, weak and strong, sure and unsure, with things they may not do."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    shape = shape_of(plan, n)

    def curves(centre, *lead):
        mean = np.log(centre) + rng.normal(size=(*lead, 3)) * [0.3, 0.4, 0.4] * spread
        root = rng.normal(size=(*lead, 3, 3)) * rng.choice([0.0, 0.02, 0.05], (n, *[1] * (len(lead) + 1)))
        return mean, root @ np.swapaxes(root, -1, -2)

    engines = {engine: curves(centre, n) for engine, centre in ENGINE_CENTRES.items()}
    paced_mean, paced_cov = curves(PACED_CENTRE, *shape)
    written = np.ones(shape[1:])
    for s, station in enumerate(plan.stations):
        for r, option in enumerate(station.options):
            written[s, r] = option.dose
    crowd = Room(
        engine_mean={engine: mean for engine, (mean, _) in engines.items()},
        engine_cov={engine: cov for engine, (_, cov) in engines.items()},
        repetitions_mean=np.log(2.5 * written) + rng.normal(0.0, 0.6, shape) * spread,
        repetitions_sd=rng.choice([0.0, 0.08, 0.2], shape),
        allowed=rng.random(shape) > 0.1,
        paced_mean=np.where(rng.random(shape)[..., None] < 0.3, np.nan, paced_mean),
        paced_cov=paced_cov,
        fitness=rng.normal(size=n),
        refill=np.exp(rng.normal(np.log(4.0), 0.3, n)),
    )
    return with_cautions(crowd, rng) if cautions else crowd


def with_cautions(crowd, rng):
    """The same athletes, some new, some untested, some unused to what makes sore."""
    shape = crowd.allowed.shape
    return replace(
        crowd,
        unknown=np.broadcast_to(rng.random(shape[1:]) < 0.2, shape),
        untested=rng.random(shape) < 0.3,
        newcomer_week=rng.choice([0, 0, 1, 2, 3, 4], shape[0]),
        most_in_session=np.where(rng.random((shape[0], 1, 1)) < 0.5, np.inf, rng.choice([3.0, 30.0, 100.0], shape)),
        no_target=rng.random(shape[0]) < 0.1,
    )


def changed(crowd, gain):
    """The same athletes with all capacities e^gain as large: CP and W' of engines and paced movements, repetitions."""
    both = np.array([gain, gain, 0.0])
    return replace(
        crowd,
        engine_mean={engine: mean + both for engine, mean in crowd.engine_mean.items()},
        repetitions_mean=crowd.repetitions_mean + gain,
        paced_mean=None if crowd.paced_mean is None else crowd.paced_mean + both,
    )
