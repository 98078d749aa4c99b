import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.scaling.demand import demand_matrix, fade, fade_sum, overlap, recovery_share


def matrix(stations=3, rotations=4, tau=90.0, refill=180.0, ramp=0.0, common=1.0, **constants):
    ones = np.ones((1, stations))
    return demand_matrix(
        tau * ones, refill * ones, ramp * ones, common * np.ones((1, stations, stations)), 60.0, rotations, **constants
    )[0]


def test_own_sets_and_ramp():
    own = sum(fade(r * 180.0, 90.0) for r in range(4))
    np.testing.assert_allclose(np.diag(matrix(ramp=0.5)), own + 0.5)


def test_a_station_earlier_in_the_round_counts_in_every_round_and_a_later_one_in_all_but_the_first():
    demand = matrix()
    earlier = 0.3 * sum(fade(60.0 + r * 180.0, 90.0) for r in range(4))  # station 1 on station 2
    later = 0.3 * sum(fade(120.0 + r * 180.0, 90.0) for r in range(3))  # station 2 on station 1: two intervals on
    assert demand[1, 0] == pytest.approx(earlier)
    assert demand[0, 1] == pytest.approx(later)


def test_in_a_single_round_nothing_comes_from_later_stations():
    demand = matrix(rotations=1)
    assert (demand[np.triu_indices(3, 1)] == 0.0).all()
    assert (demand[np.tril_indices(3, -1)] > 0.0).all()


def test_no_common_pattern_no_coupling():
    np.testing.assert_array_equal(matrix(common=0.0), np.diag(np.diag(matrix())))
    np.testing.assert_array_equal(matrix(coupling=0.0), np.diag(np.diag(matrix())))


@pytest.mark.parametrize(
    ("rest", "tau", "rounds", "most"),
    # n = M·(1 − q)/(1 − q^K), q = exp(−rest/τ), M = 20: the repetition model of the literature survey, one fast share
    [(20, 30, 5, 10.0917), (40, 60, 10, 9.7441), (30, 90, 10, 5.8791), (40, 120, 10, 5.8791), (30, 60, 1, 20.0)],
)
def test_repeated_sets_without_a_slow_share(rest, tau, rounds, most):
    demand = matrix(stations=1, rotations=rounds, tau=tau, refill=rest, slow_share=0.0)
    assert 20.0 / demand[0, 0] == pytest.approx(most, abs=5e-5)


def test_overlap_is_the_strongest_common_pattern():
    assert overlap([1, 0, 0, 0, 0.3, 0.8, 0.2], [0, 1, 0, 0, 0.4, 0, 0.1]) == pytest.approx(0.12)


def test_recovery_between_sets():
    busy = np.array([[40.0, 30.0, 50.0, 0.0]])
    share = recovery_share(busy.sum(), busy, 240.0)
    assert share[0, 0] == pytest.approx(0.55 * 80.0 / 200.0)
    assert share[0, 3] == pytest.approx(0.55 * 120.0 / 240.0)


@pytest.mark.parametrize("work", [40.0, 60.0])
def test_one_station_alone_rests_in_between(work):
    assert recovery_share(work, np.array([[work]]), 60.0) == 0.0


def test_one_machine_at_two_stations_shares_all_its_work_above_critical_power():
    same = np.array([[[False, True, False], [True, False, False], [False, False, False]]])
    demand = matrix(common=0.2, same_machine=same)
    assert demand[1, 0] == pytest.approx(sum(fade(60.0 + r * 180.0, 90.0) for r in range(4)))
    assert demand[2, 0] == pytest.approx(0.06 * sum(fade(120.0 + r * 180.0, 90.0) for r in range(4)))


def test_rounds_may_differ_between_stations():
    ones = np.ones((1, 3))
    rounds = np.array([[4, 2, 1]])
    found = demand_matrix(90.0 * ones, 180.0 * ones, 0 * ones, np.ones((1, 3, 3)), 60.0, rounds)[0]
    for s, count in enumerate(rounds[0]):
        np.testing.assert_allclose(found[s], matrix(rotations=int(count))[s])


LAGS, TAUS, COUNTS = st.floats(0.0, 3600.0), st.floats(1.0, 5000.0), st.integers(0, 40)


@given(LAGS, LAGS, COUNTS, TAUS)
def test_the_closed_form_is_the_sum(first, period, count, tau):
    expected = sum(fade(first + r * period, tau) for r in range(count))
    assert fade_sum(first, period, count, tau) == pytest.approx(expected, rel=1e-9)


def test_nothing_fades_at_once_and_all_of_it_in_the_end():
    assert fade(0.0, 90.0) == 1.0
    assert fade(1e6, 90.0) == pytest.approx(0.0, abs=1e-12)


def test_without_recovery_only_the_slow_share_fades():
    assert fade_sum(0.0, 60.0, 5, np.inf, slow_share=0.0) == 5.0
    assert fade(600.0, np.inf) == pytest.approx(0.85 + 0.15 * np.exp(-600.0 / 1800.0))


def test_no_rest_adds_up_every_set():
    assert fade_sum(0.0, 0.0, 7, 90.0) == pytest.approx(7.0)
