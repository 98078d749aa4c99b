import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.capacity.constants import REPETITION_TABLE, REPETITIONS_AT_LOAD_CAP
from athletes.capacity.loading import bar_loads
from athletes.capacity.strength import repetitions_at_load
from sessions.scaling.constants import REPETITIONS_TAU_S
from sessions.scaling.fade import fade_sum
from sessions.scaling.loads import (
    LEAST_REPETITIONS,
    LOAD_STEP_KG,
    STEEPNESS_BOUNDS,
    cautious_maximum,
    load_for,
    load_limits,
    most_repetitions,
    share_for_set,
)

RACK = bar_loads(20.0, {20.0: 3, 10.0: 2, 5.0: 2, 2.5: 2, 1.25: 1})
ONE_ROUND = {"rotations": 1, "rotation_s": 240.0, "headroom": 0.0}
TEN_ROUNDS = {"rotations": 10, "rotation_s": 240.0, "headroom": 0.15}
ROUNDS = st.fixed_dictionaries(
    {"rotations": st.integers(1, 40), "rotation_s": st.floats(30.0, 600.0), "headroom": st.floats(0.0, 0.6)}
)


def load(prescribed_kg=200.0, repetitions=5, maximum_kg=100.0, sd=0.0, owned=RACK, **circuit):
    return load_for(prescribed_kg, repetitions, np.log(maximum_kg), sd, owned, **{**TEN_ROUNDS, **circuit}).item()


def test_a_rack_by_hand():
    # 5 repetitions, one round, nothing left over: table 87 kg, Epley 100 / (1 + 5/30) = 85.7; below it 85
    assert load(**ONE_ROUND) == 85.0
    # A tenth kept back: table 78.3, and 5 / 0.9 unbroken repetitions 84.4; below it 77.5
    assert load(rotations=1, headroom=0.1) == 77.5
    # An easy day on top, 0.8: 62.6
    assert load(rotations=1, headroom=0.1, intent=0.8) == 62.5


def test_the_last_round_can_bind():
    circuit = {"rotations": 20, "rotation_s": 60.0, "headroom": 0.15}
    one_set, last_round = load_limits(100.0, 5, **circuit)
    needed = 5 * fade_sum(0.0, 60.0, 20, REPETITIONS_TAU_S) / 0.85
    assert last_round == pytest.approx(100.0 / (1.0 + needed / 30.0))
    assert last_round < one_set
    assert load(**circuit) == RACK[last_round >= RACK].max()


@given(st.integers(1, 30), st.floats(10.0, 300.0), ROUNDS)
def test_the_load_can_be_repeated_to_the_last_round(repetitions, maximum_kg, circuit):
    lightest = load_limits(maximum_kg, repetitions, **circuit).min(0)
    fatigue = fade_sum(0.0, circuit["rotation_s"], circuit["rotations"], REPETITIONS_TAU_S)
    needed = min(repetitions * fatigue / (1.0 - circuit["headroom"]), REPETITIONS_AT_LOAD_CAP)
    assert repetitions_at_load(maximum_kg, lightest) >= needed - 1e-6


@given(st.floats(5.0, 250.0), st.integers(1, 30), st.floats(20.0, 250.0), st.floats(0.0, 0.8), ROUNDS)
def test_never_up_and_always_something_that_is_owned(prescribed_kg, repetitions, maximum_kg, sd, circuit):
    found = load(prescribed_kg, repetitions, maximum_kg, sd, **circuit)
    if np.isnan(found):
        limit = load_limits(cautious_maximum(np.log(maximum_kg), sd), repetitions, **circuit).min()
        assert min(limit, prescribed_kg) < RACK[0]
    else:
        assert found <= prescribed_kg + 1e-6
        assert found in RACK


@given(st.integers(1, 29), st.integers(1, 39), st.floats(0.0, 0.6))
def test_more_of_anything_never_means_a_heavier_load(repetitions, rotations, headroom):
    def limit(repetitions, rotations, headroom, intent=1.0):
        circuit = {"rotations": rotations, "rotation_s": 240.0, "headroom": headroom, "intent": intent}
        return load_limits(100.0, repetitions, **circuit).min() - 1e-9

    here = load_limits(100.0, repetitions, rotations=rotations, rotation_s=240.0, headroom=headroom).min()
    assert limit(repetitions + 1, rotations, headroom) <= here
    assert limit(repetitions, rotations + 1, headroom) <= here
    assert limit(repetitions, rotations, headroom + 0.05) <= here
    assert limit(repetitions, rotations, headroom, intent=0.8) <= here


def test_an_unsure_maximum_gets_a_lighter_load():
    assert load(sd=0.3) < load(sd=0.05) <= load(sd=0.0)


def test_the_cautious_maximum_is_a_quantile():
    rng = np.random.default_rng(1)
    maxima = np.exp(np.log(100.0) + 0.2 * rng.normal(size=200_000))
    assert np.mean(maxima < cautious_maximum(np.log(100.0), 0.2, 0.2)) == pytest.approx(0.2, abs=0.004)
    assert cautious_maximum(np.log(100.0), 0.2, 0.5) == pytest.approx(100.0)


def test_a_hard_day_above_one_changes_nothing():
    # A single set, whose own limit is the tighter one
    assert load(rotations=1, intent=1.3) == load(rotations=1, intent=1.0)


def test_the_prescription_is_the_most():
    assert load(prescribed_kg=40.0, maximum_kg=250.0) == 40.0
    assert load(prescribed_kg=41.0, maximum_kg=250.0) == 40.0


def test_nothing_light_enough_is_nan():
    assert np.isnan(load(maximum_kg=22.0))
    assert np.isnan(load(owned=[]))


def test_no_estimate_no_load():
    assert np.isnan(load(maximum_kg=np.nan))
    assert np.isnan(load(maximum_kg=np.nan, owned=None))


def test_a_gym_that_has_not_said_what_it_owns():
    # What was prescribed is there; below it the loads of small pairs
    assert load(prescribed_kg=43.0, maximum_kg=250.0, owned=None) == 43.0
    below = load(prescribed_kg=90.0, owned=None)
    assert below == LOAD_STEP_KG * np.floor(load_limits(100.0, 5, **TEN_ROUNDS).min() / LOAD_STEP_KG)
    assert np.isnan(load(maximum_kg=3.0, owned=None))


def test_athletes_at_once():
    maxima = np.array([30.0, 60.0, 100.0, 180.0])
    together = load_for(100.0, 5, np.log(maxima), np.array([0.4, 0.1, 0.1, 0.02]), RACK, **TEN_ROUNDS)
    alone = [
        load_for(100.0, 5, np.log(maximum), sd, RACK, **TEN_ROUNDS)
        for maximum, sd in zip(maxima, (0.4, 0.1, 0.1, 0.02), strict=True)
    ]
    np.testing.assert_array_equal(together, alone)
    assert np.isnan(together[0])
    assert together[3] == 100.0


@pytest.mark.parametrize("repetitions", range(1, 11))
def test_a_set_within_the_table_is_the_tables(repetitions):
    assert share_for_set(repetitions) == REPETITION_TABLE[repetitions - 1]


def test_beyond_the_table_the_share_goes_on_falling():
    shares = share_for_set(np.arange(1, 41))
    assert (np.diff(shares) < 0).all()
    assert shares[11] == pytest.approx(30 / 42)


@pytest.mark.parametrize("repetitions", [0, -1, 2.5, np.nan])
def test_impossible_sets_are_refused(repetitions):
    with pytest.raises(ValueError, match=r"[Rr]epetition"):
        load(repetitions=repetitions)


@pytest.mark.parametrize("prescribed_kg", [0.0, -20.0, np.nan])
def test_impossible_prescriptions_are_refused(prescribed_kg):
    with pytest.raises(ValueError, match="load"):
        load(prescribed_kg=prescribed_kg)


def test_repetitions_at_a_load():
    # Epley at 80 % of the maximum: 7.5, which change (1/0.8) / (1/0.8 − 1) = 5 times as fast as the maximum
    mean, sd = most_repetitions(np.log(100.0), 0.05, 80.0)
    assert np.exp(mean) == pytest.approx(7.5)
    assert sd == pytest.approx(0.25, rel=0.03)


@given(st.floats(0.51, 0.96))
def test_the_spread_follows_the_slope_within_its_bounds(share):
    _, sd = most_repetitions(np.log(100.0), 0.1, 100.0 * share)
    assert sd / 0.1 == pytest.approx(np.clip(1.0 / (1.0 - share), *STEEPNESS_BOUNDS), rel=0.25)


@given(st.floats(0.01, 0.49))
def test_a_light_load_is_as_sure_as_the_maximum(share):
    mean, sd = most_repetitions(np.log(100.0), 0.1, 100.0 * share)
    assert np.exp(mean) == pytest.approx(REPETITIONS_AT_LOAD_CAP)
    assert sd == pytest.approx(0.1)


def test_a_load_above_the_maximum_is_far_below_one_repetition():
    mean, sd = most_repetitions(np.log(100.0), 0.05, np.array([100.5, 140.0]))
    np.testing.assert_allclose(np.exp(mean), LEAST_REPETITIONS)
    np.testing.assert_allclose(sd, [0.05 * STEEPNESS_BOUNDS[1], 0.05])


def test_no_load_no_repetitions():
    assert np.isnan(most_repetitions(np.log(100.0), 0.05, np.nan)).all()
