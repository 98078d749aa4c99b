import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.capacity.constants import FULL_WEIGHT_SD
from athletes.capacity.posterior import Problem, robust_loss, robust_weight, solve


@given(st.floats(-FULL_WEIGHT_SD, FULL_WEIGHT_SD))
def test_ordinary_residuals_count_fully(residual):
    assert robust_weight(residual) == 1.0
    assert robust_loss(residual) == pytest.approx(0.5 * residual**2, rel=1e-12)


@given(st.floats(0.1, 50.0))
def test_the_loss_rises_with_weight_times_residual(residual):
    step = 1e-6
    slope = (robust_loss(residual + step) - robust_loss(residual - step)) / (2 * step)
    assert slope == pytest.approx(robust_weight(residual) * residual, abs=1e-4)


def test_the_loss_levels_off():
    assert robust_loss(1e6) == pytest.approx(FULL_WEIGHT_SD**2)
    assert (np.diff(robust_loss(np.linspace(0, 100, 1000))) >= 0).all()


@pytest.mark.parametrize("start", [-20.0, -3.0, 1.5, 8.0])
def test_a_step_that_overshoots_is_shortened(start):
    # Full Gauss–Newton steps on an arc tangent run away from any start beyond 1.39
    problem = Problem(
        model=lambda theta, given: (np.arctan(theta), [1.0 / (1.0 + theta**2)], []),
        given=np.zeros((1, 1, 1)),
        observed=np.zeros((1, 1, 1)),
        inverse_sd=np.ones((1, 1, 1)),
        prior_mean=np.full((1, 1, 1), start),
        precision=np.full((1, 1, 1), 1e-9),
    )
    assert solve(problem)[0].item() == pytest.approx(0.0, abs=1e-3)
