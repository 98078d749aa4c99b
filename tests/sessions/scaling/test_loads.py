from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.capacity.constants import REPETITION_TABLE, REPETITIONS_AT_LOAD_CAP
from athletes.capacity.loading import bar_loads
from athletes.capacity.strength import repetitions_at_load
from sessions.scaling.ability import QUANTILE_SD
from sessions.scaling.constants import REPETITIONS_TAU_S
from sessions.scaling.demand import fade_sum
from sessions.scaling.loads import (
    LEAST_MARGIN,
    LEAST_REPETITIONS,
    LOAD_STEP_KG,
    MOST_BARS,
    STEEPNESS_BOUNDS,
    bars_of,
    drawn_to_bars,
    load_for,
    load_limit,
    most_repetitions,
    share_for_set,
    written_load,
)

RACK = bar_loads(20.0, {20.0: 3, 10.0: 2, 5.0: 2, 2.5: 2, 1.25: 1})
ONE_ROUND = {"rotations": 1, "rotation_s": 240.0, "headroom": 0.0}
TEN_ROUNDS = {"rotations": 10, "rotation_s": 240.0, "headroom": 0.25}
ROUNDS = st.fixed_dictionaries(
    {"rotations": st.integers(1, 40), "rotation_s": st.floats(30.0, 600.0), "headroom": st.floats(0.0, 0.6)}
)


def load(prescribed_kg=200.0, repetitions=5, maximum_kg=100.0, owned=RACK, **circuit):
    return load_for(prescribed_kg, repetitions, np.log(maximum_kg), owned, **{**TEN_ROUNDS, **circuit}).item()


def test_a_rack_by_hand():
    # 5 repetitions, one round, 17.5 % left for what the model does not know: 6.06 unbroken, Epley 83.2; below it 82.5
    assert load(**ONE_ROUND) == 82.5
    # A quarter left: 5 / 0.75 unbroken repetitions, 81.8; below it 80
    assert load(rotations=1, headroom=0.25) == 80.0


def test_the_repetitions_at_the_load_are_those_written():
    # Seven rounds of 6 for 75 kg once: the load and not the number gives way
    own = 30.0 * (75.0 / load(maximum_kg=75.0, repetitions=6, rotations=7, rotation_s=180.0, headroom=0.1) - 1.0)
    assert 0.825 * own / fade_sum(0.0, 180.0, 7, REPETITIONS_TAU_S) >= 6.0


def test_who_is_not_known_well_gets_a_load_that_is_held_all_the_same():
    rounds = {"rotations": 5, "rotation_s": 300.0, "headroom": 0.1}
    known, unknown = (load(maximum_kg=75.0, repetitions=8, log_sd=sd, **rounds) for sd in (0.03, 0.25))
    assert unknown < known
    cautious = repetitions_at_load(75.0 * np.exp(-QUANTILE_SD * 0.20), unknown)
    assert 0.825 * cautious / fade_sum(0.0, 300.0, 5, REPETITIONS_TAU_S) >= 8.0


def test_the_last_round_can_bind():
    circuit = {"rotations": 20, "rotation_s": 60.0, "headroom": 0.25}
    limit = load_limit(100.0, 5, **circuit)
    needed = 5 * fade_sum(0.0, 60.0, 20, REPETITIONS_TAU_S) / 0.75
    assert limit == pytest.approx(100.0 / (1.0 + needed / 30.0))
    assert load(**circuit) == RACK[limit >= RACK].max()


@given(st.integers(1, 30), st.floats(10.0, 300.0), ROUNDS)
def test_the_load_can_be_repeated_to_the_last_round(repetitions, maximum_kg, circuit):
    limit = load_limit(maximum_kg, repetitions, **circuit)
    fatigue = fade_sum(0.0, circuit["rotation_s"], circuit["rotations"], REPETITIONS_TAU_S)
    needed = min(repetitions * fatigue / (1.0 - circuit["headroom"]), REPETITIONS_AT_LOAD_CAP)
    assert repetitions_at_load(maximum_kg, limit) >= needed - 1e-6


@given(st.floats(5.0, 250.0), st.integers(1, 30), st.floats(20.0, 250.0), ROUNDS)
def test_never_up_and_always_something_that_is_owned(prescribed_kg, repetitions, maximum_kg, circuit):
    found = load(prescribed_kg, repetitions, maximum_kg, **circuit)
    if np.isnan(found):
        margin = {**circuit, "headroom": max(circuit["headroom"], LEAST_MARGIN)}
        assert min(load_limit(maximum_kg, repetitions, **margin), prescribed_kg) < RACK[0]
    else:
        assert found <= prescribed_kg + 1e-6
        assert found in RACK


@given(st.integers(1, 29), st.integers(1, 39), st.floats(0.0, 0.6))
def test_more_of_anything_never_means_a_heavier_load(repetitions, rotations, headroom):
    def limit(repetitions, rotations, headroom):
        return load_limit(100.0, repetitions, rotations=rotations, rotation_s=240.0, headroom=headroom) - 1e-9

    here = limit(repetitions, rotations, headroom) + 1e-9
    assert limit(repetitions + 1, rotations, headroom) <= here
    assert limit(repetitions, rotations + 1, headroom) <= here
    assert limit(repetitions, rotations, headroom + 0.05) <= here


def test_a_percentage_is_of_the_athletes_own_maximum():
    loads = load_for(None, 3, np.log([100.0, 60.0]), None, rotations=1, rotation_s=240.0, headroom=0.0, percent=70.0)
    assert loads.tolist() == [70.0, 40.0]  # 42 kg, down to a usual pair
    # Where it cannot be held so often, the load gives way
    assert load(None, 10, percent=90.0) < 75.0


def test_repetitions_in_reserve_are_read_from_the_table():
    # 5 repetitions with 3 left: the load for 8, 80 %
    assert written_load(None, 5, np.array([100.0]), reserve=3.0).tolist() == [80.0]
    assert written_load(None, 5, np.array([100.0]), reserve=2.5).tolist() == [80.0]
    assert load(None, 5, reserve=3.0, rotations=1, headroom=0.0) == 80.0


def test_the_lightest_of_what_is_written_counts():
    assert written_load(60.0, 5, np.array([100.0, 50.0]), percent=70.0).tolist() == [60.0, 35.0]


def test_a_newcomers_week_takes_its_share_of_the_load():
    assert load(40.0, share=0.5) == 20.0
    assert load(40.0, share=0.9) == 35.0
    assert load(24.0, share=0.5) == RACK[0]  # the empty bar, which can be held


def test_a_class_is_drawn_to_three_bars_each_to_the_nearest_below():
    loads = np.array([20.0, 22.5, 30.0, 40.0, 40.0, 40.0, 60.0, 60.0, np.nan])
    assert bars_of(loads, MOST_BARS).tolist() == [20.0, 40.0, 60.0]
    drawn = drawn_to_bars(loads, bars_of(loads, MOST_BARS))
    np.testing.assert_array_equal(drawn, [20.0, 20.0, 20.0, 40.0, 40.0, 40.0, 60.0, 60.0, np.nan])
    assert bars_of(np.array([20.0, 30.0, 40.0]), MOST_BARS).tolist() == [20.0, 30.0, 40.0]


def test_on_an_easier_day_the_same_bars_stand_and_who_needs_less_has_less():
    assert drawn_to_bars(np.array([17.5, 25.0, 55.0]), [20.0, 40.0]).tolist() == [17.5, 20.0, 40.0]


@given(st.lists(st.sampled_from(RACK.tolist()[:12]), min_size=1, max_size=20), st.integers(1, 6))
def test_bars_are_few_owned_by_somebody_and_take_least_off(loads, most):
    loads = np.array(loads)
    bars = bars_of(loads, most)
    drawn = drawn_to_bars(loads, bars)
    assert len(bars) <= most
    assert (drawn <= loads).all()
    assert set(bars) <= set(loads)
    assert bars[-1] == loads.max()  # what the coach wrote, as far as anybody lifts it
    others = [other for other in combinations(np.unique(loads), len(bars)) if other[-1] == loads.max()]
    lightest = [other for other in others if other[0] == loads.min() or len(bars) == 1]
    assert drawn.sum() >= max(drawn_to_bars(loads, other).sum() for other in lightest) - 1e-9


def test_the_prescription_is_the_most():
    assert load(prescribed_kg=40.0, maximum_kg=250.0) == 40.0
    assert load(prescribed_kg=41.0, maximum_kg=250.0) == 40.0


def test_nothing_light_enough_is_nan():
    assert np.isnan(load(maximum_kg=21.0))
    assert load(maximum_kg=23.0) == RACK[0]  # once in every round, so the repetitions give way
    assert np.isnan(load(owned=[]))


def test_no_estimate_no_load():
    assert np.isnan(load(maximum_kg=np.nan))
    assert np.isnan(load(maximum_kg=np.nan, owned=None))


def test_a_gym_that_has_not_said_what_it_owns():
    # What was prescribed is there; below it the loads of small pairs
    assert load(prescribed_kg=43.0, maximum_kg=250.0, owned=None) == 43.0
    below = load(prescribed_kg=90.0, owned=None)
    assert below == LOAD_STEP_KG * np.floor(load_limit(100.0, 5, **TEN_ROUNDS) / LOAD_STEP_KG)
    assert np.isnan(load(maximum_kg=3.0, owned=None))


def test_athletes_at_once():
    maxima = np.array([21.0, 60.0, 100.0, 180.0])
    together = load_for(100.0, 5, np.log(maxima), RACK, **TEN_ROUNDS)
    alone = [load_for(100.0, 5, np.log(maximum), RACK, **TEN_ROUNDS) for maximum in maxima]
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


@pytest.mark.parametrize(
    ("prescribed_kg", "ways"),
    [
        (0.0, {}),
        (-20.0, {}),
        (np.nan, {}),
        (None, {}),
        (None, {"percent": 0.0}),
        (None, {"percent": 120.0}),
        (None, {"reserve": -1.0}),
    ],
)
def test_impossible_prescriptions_are_refused(prescribed_kg, ways):
    with pytest.raises(ValueError, match=r"load|percentage|reserve"):
        load(prescribed_kg=prescribed_kg, **ways)


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
