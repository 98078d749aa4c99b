import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.capacity import posterior
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


def arcs(starts, trials) -> Problem:
    """Fits of one number each, of which every trial shows the arc tangent."""
    n, m = len(starts), len(trials)
    return Problem(
        model=lambda theta, given: (
            np.arctan(theta) + given,
            [1.0 / (1.0 + theta**2) + given],
            [-2.0 * theta / (1.0 + theta**2) ** 2 + given],
        ),
        given=np.zeros((n, 1, m)),
        observed=np.broadcast_to(np.asarray(trials, float), (n, 1, m)),
        inverse_sd=np.full((n, 1, m), 5.0),
        prior_mean=np.reshape(np.asarray(starts, float), (n, 1, 1)),
        precision=np.full((n, 1, 1), 0.01),
    )


def test_many_are_fitted_as_each_alone_however_they_are_cut(monkeypatch):
    starts = np.linspace(-6.0, 6.0, 25)
    together = solve(arcs(starts, [0.9, 0.8, -1.2]))
    monkeypatch.setattr(posterior, "AT_ONCE", 7)  # several blocks, the last of them shorter
    for found, expected in zip(solve(arcs(starts, [0.9, 0.8, -1.2])), together, strict=True):
        np.testing.assert_allclose(found, expected, atol=1e-6)
    for row, start in enumerate(starts):
        np.testing.assert_allclose(solve(arcs([start], [0.9, 0.8, -1.2]))[0][0], together[0][row], atol=1e-6)


def test_a_curvature_without_a_bottom_is_told_from_one_with():
    matrices = np.array([np.eye(2), np.diag([1.0, -1.0]), [[1.0, 2.0], [2.0, 1.0]]])
    np.testing.assert_array_equal(posterior._positive_definite(matrices), [True, False, False])
    np.testing.assert_array_equal(posterior._positive_definite(matrices[:1]), [True])


def test_where_the_full_curvature_has_no_bottom_the_step_still_goes_down():
    precision, added, bent = np.ones((2, 1, 1)), np.full((2, 1, 1, 1), 2.0), np.array([1.0, -9.0]).reshape(2, 1, 1, 1)
    gradient = np.array([[4.0], [6.0]])
    np.testing.assert_allclose(posterior._step(precision, gradient, added, bent, careful=False), [[-1.0], [-2.0]])
    np.testing.assert_allclose(posterior._step(precision, gradient, added, bent, careful=True), [[-4 / 3], [-2.0]])
