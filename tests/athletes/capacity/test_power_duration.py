import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from athletes.capacity.people import People
from athletes.capacity.power_duration import estimate, log_power, log_power_gradient, log_power_sd, power
from athletes.capacity.priors import engine_prior

NAN = np.nan
PRIOR_MEAN, PRIOR_COV = (array[0] for array in engine_prior("row", People.of("", NAN)))
THETAS = st.tuples(st.floats(3.5, 6.5), st.floats(7.5, 11.0), st.floats(0.0, 4.5)).map(np.array)
SECONDS = np.array([60.0, 120.0, 300.0, 720.0])


def invented(n, seed, spread=(0.25, 0.3, 0.3), noise=0.01):
    """Efforts of n athletes around the prior, at four durations."""
    rng = np.random.default_rng(seed)
    theta = PRIOR_MEAN + rng.normal(size=(n, 3)) * spread
    seconds = np.tile(SECONDS, (n, 1))
    return np.exp(log_power(seconds, theta[:, None]) + noise * rng.normal(size=(n, 4))), seconds


def fit(watts, seconds, sd=0.03):
    return estimate(watts, seconds, sd, PRIOR_MEAN, PRIOR_COV)


@given(THETAS, st.floats(1.0, 3600.0))
def test_the_gradient_is_the_slope(theta, seconds):
    step = 1e-5
    slopes = [
        (log_power(seconds, theta + step * axis) - log_power(seconds, theta - step * axis)) / (2 * step)
        for axis in np.eye(3)
    ]
    np.testing.assert_allclose(log_power_gradient(seconds, theta), slopes, atol=1e-8)


@given(st.floats(1.0, 3600.0), st.floats(1.0, 3600.0), THETAS)
def test_longer_efforts_have_less_power_and_never_less_than_critical_power(one, other, theta):
    short, long = sorted((one, other))
    assert log_power(short, theta) >= log_power(long, theta) > theta[0] - 1e-12


@given(st.floats(1.0, 3600.0))
def test_a_ramp_takes_power_away(seconds):
    assert power(seconds, 200.0, 15_000.0, 20.0) < power(seconds, 200.0, 15_000.0, 0.0)


def test_without_efforts_the_prior_comes_back():
    theta, covariance = fit(np.full((2, 3), NAN), np.full((2, 3), NAN))
    np.testing.assert_allclose(theta, np.tile(PRIOR_MEAN, (2, 1)), rtol=1e-12)
    np.testing.assert_allclose(covariance, np.tile(PRIOR_COV, (2, 1, 1)), rtol=1e-9, atol=1e-15)


def test_no_columns_at_all_is_no_effort():
    theta, _ = fit(np.empty((2, 0)), np.empty((2, 0)))
    np.testing.assert_allclose(theta, np.tile(PRIOR_MEAN, (2, 1)))


def test_nobody_at_all():
    theta, covariance = fit(np.empty((0, 3)), np.empty((0, 3)))
    assert theta.shape == (0, 3)
    assert covariance.shape == (0, 3, 3)


def test_many_exact_efforts_overrule_the_prior():
    truth = np.log([300.0, 22_000.0, 12.0])
    seconds = np.geomspace(10.0, 1800.0, 30)[None]
    theta, covariance = fit(np.exp(log_power(seconds, truth)), seconds, 0.002)
    np.testing.assert_allclose(theta[0], truth, atol=0.02)
    assert (np.sqrt(np.diag(covariance[0])) < 0.05).all()


def test_an_effort_makes_its_own_duration_surest():
    theta, covariance = fit(np.array([[250.0]]), np.array([[480.0]]))
    sds = log_power_sd(np.array([30.0, 480.0, 1500.0]), theta[0], covariance[0])
    assert sds[1] < 0.035
    assert sds[0] > sds[1]
    assert sds[2] > sds[1]


def test_an_older_effort_weighs_less():
    watts, seconds = np.array([[280.0]]), np.array([[480.0]])
    fresh, old = (fit(watts, seconds, sd)[0][0] for sd in (0.03, 0.30))
    assert abs(old - PRIOR_MEAN).max() < abs(fresh - PRIOR_MEAN).max()


def test_athletes_do_not_influence_each_other():
    watts, seconds = invented(30, seed=4)
    together = fit(watts, seconds)[0]
    alone = np.concatenate([fit(watts[i : i + 1], seconds[i : i + 1])[0] for i in range(30)])
    np.testing.assert_allclose(together, alone, atol=1e-9)


@pytest.mark.parametrize("factor", [0.33, 0.5, 2.0, 3.0])
@pytest.mark.parametrize("position", range(4))
def test_one_absurd_effort_among_four_is_as_good_as_left_out(position, factor):
    watts, seconds = invented(100, seed=5)
    absurd, without = watts.copy(), watts.copy()
    absurd[:, position] *= factor
    without[:, position] = NAN
    np.testing.assert_allclose(fit(absurd, seconds)[0], fit(without, seconds)[0], atol=0.01)


def test_a_bad_sprint_that_a_plain_fit_would_hide_in_the_other_parameters_is_found():
    # Half as much again over a minute bends the whole curve of a plain fit: only leaving it out shows which is odd
    watts, seconds = invented(100, seed=5)
    odd, without = watts.copy(), watts.copy()
    odd[:, 0] *= 1.5
    without[:, 0] = NAN
    np.testing.assert_allclose(fit(odd, seconds)[0], fit(without, seconds)[0], atol=0.03)


@pytest.mark.parametrize("factor", [0.5, 2.0])
@pytest.mark.parametrize("position", range(3))
def test_one_absurd_effort_among_four_hardly_moves_critical_power(position, factor):
    # Without the longest effort critical power is less well known, absurd or not: so positions 0 to 2
    watts, seconds = invented(100, seed=6)
    absurd = watts.copy()
    absurd[:, position] *= factor
    moved = np.abs(np.expm1(fit(absurd, seconds)[0][:, 0] - fit(watts, seconds)[0][:, 0]))
    assert moved.max() < 0.03


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.lists(st.tuples(st.floats(1.0, 5000.0), st.floats(1.0, 7200.0)), min_size=0, max_size=5),
        min_size=1,
        max_size=4,
    ),
    st.floats(0.001, 2.0),
)
def test_any_efforts_give_finite_estimates_with_proper_covariances(rows, sd):
    watts, seconds = np.full((len(rows), 5), NAN), np.full((len(rows), 5), NAN)
    for i, row in enumerate(rows):
        for j, (power_w, duration_s) in enumerate(row):
            watts[i, j], seconds[i, j] = power_w, duration_s
    theta, covariance = fit(watts, seconds, sd)
    assert np.isfinite(theta).all()
    assert (np.linalg.eigvalsh(covariance) > 0).all()
    # An observation never makes an estimate less sure than the prior
    assert (np.diagonal(covariance, axis1=1, axis2=2) <= np.diag(PRIOR_COV) * (1 + 1e-9)).all()


def test_priors_of_one_athlete_each_and_of_all_are_the_same():
    watts, seconds = invented(3, seed=8)
    each = estimate(watts, seconds, 0.03, np.tile(PRIOR_MEAN, (3, 1)), np.tile(PRIOR_COV, (3, 1, 1)))
    np.testing.assert_allclose(each[0], fit(watts, seconds)[0], atol=1e-12)


@pytest.mark.parametrize(("watts", "seconds", "sd"), [(0.0, 60.0, 0.03), (200.0, -1.0, 0.03), (200.0, 60.0, 0.0)])
def test_impossible_efforts_are_refused(watts, seconds, sd):
    with pytest.raises(ValueError, match="above zero"):
        fit(np.array([[watts]]), np.array([[seconds]]), sd)
