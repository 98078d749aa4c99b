import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.capacity.drag import (
    LEVER_BOUNDS,
    LOG_DRAG_PER_LEVER,
    Reach,
    lever_for,
    pool_adjacent_violators,
    to_step,
)

LEVERS = np.array([1.0, 3.0, 5.0, 7.0, 10.0])
DRAGS = np.array([80.0, 96.0, 118.0, 145.0, 195.0])
SEA, MILL = 1.20, 1.12  # density of the air in a room at sea level and at 640 m, kg/m³
READINGS = st.lists(
    st.tuples(st.floats(1.0, 10.0), st.floats(60.0, 250.0), st.floats(0.9, 1.25), st.floats(0.0, 2000.0)),
    min_size=1,
    max_size=12,
).map(lambda rows: np.array(rows).T)


def test_readings_come_back():
    lever, reach = lever_for(DRAGS, LEVERS, DRAGS, SEA, SEA)
    np.testing.assert_allclose(lever, LEVERS, rtol=1e-12)
    assert (reach == Reach.WITHIN).all()


def test_between_two_readings_the_lever_lies_between_theirs():
    lever, _ = lever_for(np.sqrt(118.0 * 145.0), LEVERS, DRAGS, SEA, SEA)
    assert lever == pytest.approx(6.0)


def test_thin_air_asks_for_a_higher_lever():
    targets = np.array([90.0, 120.0, 150.0])
    here, _ = lever_for(targets, LEVERS, DRAGS, SEA, SEA)
    thin, _ = lever_for(targets, LEVERS, DRAGS, SEA, MILL)
    assert (thin > here).all()
    # As if the target were higher by as much as the air is thinner
    np.testing.assert_allclose(thin, lever_for(targets * SEA / MILL, LEVERS, DRAGS, SEA, SEA)[0], rtol=1e-12)


def test_each_reading_is_scaled_by_the_air_of_its_own_day():
    densities = np.array([1.25, 1.05, 1.20, 1.00, 1.15])
    lever, _ = lever_for(130.0, LEVERS, DRAGS * densities / SEA, densities, SEA)
    assert lever == pytest.approx(lever_for(130.0, LEVERS, DRAGS, SEA, SEA)[0].item())


def test_outside_the_readings_the_outermost_lever_is_given_and_said():
    levers, drags = LEVERS[1:4], DRAGS[1:4]
    lever, reach = lever_for([70.0, 96.0, 145.0, 160.0], levers, drags, SEA, SEA)
    np.testing.assert_allclose(lever, [3.0, 3.0, 7.0, 7.0])
    assert reach.tolist() == [Reach.BELOW, Reach.WITHIN, Reach.WITHIN, Reach.ABOVE]


def test_one_reading_goes_by_the_typical_slope_and_is_rough():
    lever, reach = lever_for([130.0, 130.0 * np.exp(LOG_DRAG_PER_LEVER), 1000.0, 1.0], 6.0, 130.0, SEA, SEA)
    np.testing.assert_allclose(lever, [6.0, 7.0, *reversed(LEVER_BOUNDS)])
    assert (reach == Reach.ROUGH).all()


def test_readings_that_contradict_each_other_altogether_count_as_one():
    lever, reach = lever_for(100.0, [5.0, 7.0], [120.0, 80.0], SEA, SEA)
    assert lever == pytest.approx(6.0 + np.log(100.0 / np.sqrt(120.0 * 80.0)) / LOG_DRAG_PER_LEVER)
    assert reach == Reach.ROUGH


def test_without_a_reading_there_is_no_lever():
    assert lever_for(130.0, [], [], [], SEA) is None


def test_newer_readings_of_the_same_lever_count_for_more():
    # Cleaned: lever 5 reads 125 today and read 115 two months ago
    levers, drags = [3.0, 5.0, 5.0, 8.0], [95.0, 115.0, 125.0, 170.0]
    newest, _ = lever_for(122.0, levers, drags, SEA, SEA, [60.0, 60.0, 0.0, 60.0])
    alike, _ = lever_for(122.0, levers, drags, SEA, SEA)
    other, _ = lever_for(122.0, levers, drags, SEA, SEA, [60.0, 0.0, 60.0, 60.0])
    assert newest < alike < other


def test_readings_from_another_century_still_count():
    lever, _ = lever_for(118.0, LEVERS, DRAGS, SEA, SEA, 40_000.0)
    assert lever == pytest.approx(5.0)


def test_a_reading_that_falls_is_smoothed_over():
    levers, drags = [4.0, 5.0, 6.0, 7.0], [100.0, 120.0, 112.0, 140.0]
    middle, reach = lever_for(np.sqrt(120.0 * 112.0), levers, drags, SEA, SEA)
    assert middle == pytest.approx(5.5)
    assert reach == Reach.WITHIN


def test_a_smoothed_stretch_stands_where_its_newer_readings_are():
    levers, drags, age_days = [4.0, 5.0, 6.0, 7.0], [100.0, 120.0, 112.0, 140.0], [0.0, 0.0, 30.0, 0.0]
    level = np.exp((2 * np.log(120.0) + np.log(112.0)) / 3)  # the older of the two counts half
    lever, _ = lever_for(level, levers, drags, SEA, SEA, age_days)
    assert lever == pytest.approx((2 * 5.0 + 6.0) / 3)


def test_beyond_a_smoothed_end_the_outermost_lever_that_was_read_is_given():
    lever, reach = lever_for(150.0, [5.0, 8.0, 10.0], [118.0, 141.0, 139.0], SEA, SEA)
    assert lever == 10.0
    assert reach == Reach.ABOVE


@given(READINGS, st.floats(0.8, 1.3))
def test_more_drag_never_means_a_lower_lever(readings, density_now):
    levers, drags, densities, age_days = readings
    targets = np.linspace(40.0, 300.0, 60)
    lever, reach = lever_for(targets, levers, drags, densities, density_now, age_days)
    assert (np.diff(lever) >= -1e-9).all()
    assert np.isfinite(lever).all()
    assert (reach != Reach.ROUGH).all() or (reach == Reach.ROUGH).all()
    if reach[0] != Reach.ROUGH:
        assert ((lever >= levers.min()) & (lever <= levers.max())).all()


@given(READINGS, st.randoms())
def test_the_order_of_the_readings_does_not_matter(readings, random):
    order = list(range(readings.shape[1]))
    random.shuffle(order)
    levers, drags, densities, age_days = readings
    one = lever_for(130.0, levers, drags, densities, SEA, age_days)
    other = lever_for(130.0, *(values[order] for values in (levers, drags, densities)), SEA, age_days[order])
    assert one[0] == pytest.approx(other[0], abs=1e-6)


@pytest.mark.parametrize(
    ("target", "lever", "drag", "density", "now"),
    [
        (0.0, 5.0, 120.0, SEA, SEA),
        (np.nan, 5.0, 120.0, SEA, SEA),
        (120.0, 0.0, 120.0, SEA, SEA),
        (120.0, 5.0, -1.0, SEA, SEA),
        (120.0, 5.0, 120.0, 0.0, SEA),
        (120.0, 5.0, 120.0, SEA, 0.0),
    ],
)
def test_impossible_readings_are_refused(target, lever, drag, density, now):
    with pytest.raises(ValueError, match="above zero"):
        lever_for(target, lever, drag, density, now)


def test_a_lever_is_shown_in_halves():
    assert to_step([4.74, 4.75, 5.0, 5.24, 6.25]).tolist() == [4.5, 5.0, 5.0, 5.0, 6.5]


def test_rising_values_are_left_alone():
    assert pool_adjacent_violators([1.0, 2.0, 4.0], [1.0, 5.0, 1.0]).tolist() == [1.0, 2.0, 4.0]


def test_falling_values_become_their_weighted_mean():
    assert pool_adjacent_violators([3.0, 0.0, 5.0], [2.0, 1.0, 1.0]).tolist() == [2.0, 2.0, 5.0]
