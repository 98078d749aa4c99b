import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.scaling.fade import fade, fade_sum, repeats, repeats_slope

LAGS, TAUS, COUNTS = st.floats(0.0, 3600.0), st.floats(1.0, 5000.0), st.integers(0, 40)


@given(LAGS, LAGS, COUNTS, TAUS)
def test_the_closed_form_is_the_sum(first, period, count, tau):
    expected = sum(fade(first + r * period, tau) for r in range(count))
    assert fade_sum(first, period, count, tau) == pytest.approx(expected, rel=1e-9)


@given(st.floats(0.0, 1.0), COUNTS)
def test_doubling_gives_the_sums(left, count):
    total, power = repeats(np.array([left]), count)
    assert total == pytest.approx(sum(left**r for r in range(count)), rel=1e-12)
    assert power == pytest.approx(left**count, rel=1e-12)
    assert repeats_slope(np.array([left]), count) == pytest.approx(sum(r * left**r for r in range(count)), rel=1e-12)


def test_nothing_fades_at_once_and_all_of_it_in_the_end():
    assert fade(0.0, 90.0) == 1.0
    assert fade(1e6, 90.0) == pytest.approx(0.0, abs=1e-12)


def test_without_recovery_only_the_slow_share_fades():
    assert fade_sum(0.0, 60.0, 5, np.inf, slow_share=0.0) == 5.0
    assert fade(600.0, np.inf) == pytest.approx(0.85 + 0.15 * np.exp(-600.0 / 1800.0))


def test_no_rest_adds_up_every_set():
    assert fade_sum(0.0, 0.0, 7, 90.0) == pytest.approx(7.0)
