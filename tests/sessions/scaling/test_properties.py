"""What holds for any circuit and any athletes, through the public functions alone."""

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from sessions.scaling.allocate import fair_share
from sessions.scaling.circuit import Circuit, Station
from sessions.scaling.demand import demand_matrix
from sessions.scaling.engine import hold_power
from sessions.scaling.scale import scale
from tests.sessions.scaling.builders import circuits, options, rooms

FEW = settings(max_examples=60, deadline=None)
UNTIMED = settings(deadline=None)
ROUNDING = 1e-6  # of a step: what the method itself forgives the floating point


def with_gaps(plan, crowd):
    """The same athletes with NaN wherever nothing is needed to be known: engines' rungs, and what is not allowed."""
    needed = np.zeros(crowd.allowed.shape, bool)
    engines = {}
    for s, station in enumerate(plan.stations):
        for rung, option in enumerate(station.options):
            if option.engine is None:
                needed[:, s, rung] = crowd.allowed[:, s, rung]
            else:
                known = engines.get(option.engine, np.zeros(len(crowd.allowed), bool))
                engines[option.engine] = known | crowd.allowed[:, s, rung]
    gone = {engine: ~known for engine, known in engines.items()}
    return replace(
        crowd,
        engine_mean={e: np.where(rows[:, None], np.nan, crowd.engine_mean[e]) for e, rows in gone.items()},
        engine_cov={e: np.where(rows[:, None, None], np.nan, crowd.engine_cov[e]) for e, rows in gone.items()},
        repetitions_mean=np.where(needed, crowd.repetitions_mean, np.nan),
        repetitions_sd=np.where(needed, crowd.repetitions_sd, np.nan),
    )


def table(plan, read):
    """A figure of every option, (S, L), 0 where a ladder has ended."""
    rungs = max(len(station.options) for station in plan.stations)
    return np.array(
        [[read(option) for option in s.options] + [0.0] * (rungs - len(s.options)) for s in plan.stations], float
    )


def at(rung, figures):
    """A figure (S, L) at the rungs (n, S) chosen, 0 at rest."""
    chosen = figures[np.arange(len(figures)), np.maximum(rung, 0)]
    return np.where(rung < 0, 0.0, chosen)


@FEW
@given(st.data(), st.floats(0.2, 3.0), st.floats(0.01, 0.99))
def test_nothing_missing_ever_comes_out(data, intent, quantile):
    plan = data.draw(circuits())
    crowd = data.draw(rooms(plan, limits=True))
    targets = scale(plan, with_gaps(plan, crowd), intent, quantile)
    for name in ("dose", "wanted_dose", "own_cap_dose", "share", "done_by_s", "headroom", "probability", "sd_log"):
        assert np.isfinite(getattr(targets, name)).all(), name
    on_engine = at(targets.rung, table(plan, lambda option: option.engine is not None)) > 0
    np.testing.assert_array_equal(np.isfinite(targets.hold), on_engine)
    assert (targets.hold[on_engine] >= 0.0).all()
    assert ((targets.probability >= 0.0) & (targets.probability <= 1.0)).all()
    assert (targets.headroom <= 1.0).all()
    assert (targets.sd_log >= 0.0).all()


@FEW
@given(st.data(), st.floats(0.2, 3.0))
def test_what_is_not_needed_changes_nothing(data, intent):
    plan = data.draw(circuits())
    crowd = data.draw(rooms(plan, limits=True))
    np.testing.assert_array_equal(scale(plan, with_gaps(plan, crowd), intent).dose, scale(plan, crowd, intent).dose)


@FEW
@given(st.data(), st.floats(0.2, 3.0))
def test_no_target_exceeds_the_prescription_or_its_window(data, intent):
    plan = data.draw(circuits())
    crowd = data.draw(rooms(plan, limits=True))
    targets = scale(plan, crowd, intent)
    prescribed = at(targets.rung, table(plan, lambda option: option.dose))
    assert (targets.dose >= 0.0).all()
    assert (targets.dose <= prescribed * min(intent, 1.0) + ROUNDING).all()
    windows = np.array([station.work_window_s for station in plan.stations])
    assert (targets.done_by_s <= windows * (1 + 1e-9)).all()
    assert (targets.dose[targets.rung < 0] == 0.0).all()


@st.composite
def one_station(draw):
    """A circuit of one station with one option, whatever dose of it is useful."""
    option, interval = replace(draw(options()), least_dose=0.0), draw(st.floats(45.0, 180.0))
    window = draw(st.floats(15.0, interval))
    return Circuit((Station(window, (option,)),), draw(st.integers(1, 20)), interval, draw(st.floats(0.0, 0.5)))


@FEW
@given(st.data(), st.integers(1, 20), st.floats(0.0, 1.0))
def test_more_rounds_shorter_rest_or_more_headroom_never_raise_a_target_at_one_station(data, rounds, part):
    plan = data.draw(one_station())
    crowd = data.draw(rooms(plan, correlated=False))
    dose = scale(plan, crowd).dose
    shortest = max(30.0, plan.stations[0].work_window_s)
    for harder in (
        replace(plan, rotations=plan.rotations + rounds),
        replace(plan, interval_s=shortest + part * (plan.interval_s - shortest)),
        replace(plan, headroom=min(plan.headroom + part * (0.9 - plan.headroom), 0.9)),  # rounding may pass it
    ):
        assert (scale(harder, crowd).dose <= dose).all()


@FEW
@given(st.data(), st.lists(st.floats(0.0, 0.5), min_size=3, max_size=3))
def test_more_capacity_never_lowers_a_target_at_one_station(data, gain):
    plan = data.draw(one_station())
    crowd = data.draw(rooms(plan))
    crowd = replace(crowd, engine_cov={engine: np.zeros_like(cov) for engine, cov in crowd.engine_cov.items()})
    stronger = replace(
        crowd,
        engine_mean={engine: mean + np.array(gain) * [1.0, 1.0, -1.0] for engine, mean in crowd.engine_mean.items()},
        repetitions_mean=crowd.repetitions_mean + gain[0],
    )
    assert (scale(plan, stronger).dose >= scale(plan, crowd).dose).all()


@FEW
@given(st.data(), st.integers(0, 2**32 - 1))
def test_athletes_are_scaled_as_if_alone(data, seed):
    plan = data.draw(circuits())
    crowd = data.draw(rooms(plan, limits=True))
    order = np.random.default_rng(seed).permutation(len(crowd))
    np.testing.assert_array_equal(scale(plan, crowd.take(order)).dose, scale(plan, crowd).dose[order])
    np.testing.assert_array_equal(scale(plan, crowd.take(order[:1])).dose, scale(plan, crowd).dose[order[:1]])


# --- The parts ---


@UNTIMED
@given(st.integers(0, 2**32 - 1), st.floats(0.01, 100.0))
def test_fair_shares_know_neither_units_nor_the_order_of_stations(seed, unit):
    rng = np.random.default_rng(seed)
    size = int(rng.integers(1, 7))
    demand = rng.uniform(0.0, 1.0, (size, size)) * (rng.random((size, size)) < 0.6) + np.eye(size)
    wanted, limit = rng.uniform(0.0, 2.0, size), rng.uniform(0.1, 1.0)
    share, order = fair_share(demand, wanted, limit), rng.permutation(size)
    np.testing.assert_allclose(fair_share(demand * unit, wanted, limit * unit), share, atol=1e-9)
    np.testing.assert_allclose(fair_share(demand[np.ix_(order, order)], wanted[order], limit), share[order], atol=1e-9)


@UNTIMED
@given(st.integers(1, 8), st.integers(1, 40), st.floats(20.0, 600.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_every_entry_of_the_demand_grows_with_rounds_and_nothing_is_below_one_set(size, rounds, tau, ramp, common):
    def matrix(rotations):
        ones = np.ones((1, size))
        overlap = np.full((1, size, size), common)
        return demand_matrix(tau * ones, 60.0 * size * ones, ramp * ones, overlap, 60.0, rotations)[0]

    assert (matrix(rounds + 1) >= matrix(rounds) * (1 - 1e-12)).all()
    assert (np.diag(matrix(rounds)) >= (1.0 + ramp) * (1 - 1e-12)).all()


@UNTIMED
@given(st.floats(60.0, 450.0), st.floats(3e3, 4e4), st.floats(1.0, 90.0), st.floats(15.0, 120.0), st.integers(1, 20))
def test_one_station_alone_holds_what_the_closed_form_says(cp, w_prime, ramp, work, rounds):
    # As G·x: at the power that can be held, own demand times the share asked is just what the headroom leaves
    tau, rest = w_prime / cp, 60.0
    held = hold_power(cp, w_prime, ramp, work, rounds, work + rest, 0.0, 0.15)
    demand = demand_matrix([[tau]], [[rest]], [[ramp / work]], np.ones((1, 1, 1)), work + rest, rounds)[0, 0, 0]
    np.testing.assert_allclose(demand * (held - cp) * work / w_prime, 0.85, rtol=1e-9)
