import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from athletes.capacity.constants import FULL_WEIGHT_SD
from athletes.capacity.contradictions import PAIR_SD, in_efforts, in_trials
from athletes.capacity.people import People
from athletes.capacity.power_duration import estimate, log_power
from athletes.capacity.priors import engine_prior
from athletes.capacity.repetitions import estimate as estimate_repetitions

NAN = np.nan
PRIOR_MEAN, PRIOR_COV = (array[0] for array in engine_prior("row", People.of("", NAN)))
SECONDS = np.array([60.0, 120.0, 300.0, 720.0])
SD = 0.03


def efforts(n=100, seed=2):
    """Four efforts each of n invented athletes, with a third of the noise that is expected."""
    rng = np.random.default_rng(seed)
    theta = PRIOR_MEAN + rng.normal(size=(n, 3)) * (0.25, 0.3, 0.3)
    seconds = np.tile(SECONDS, (n, 1))
    return np.exp(log_power(seconds, theta[:, None]) + SD / 3 * rng.normal(size=(n, 4))), seconds


def fit(watts, seconds, sd=SD):
    return estimate(watts, seconds, sd, PRIOR_MEAN, PRIOR_COV)[0]


def check(watts, seconds, sd=SD):
    watts, seconds = np.atleast_2d(watts), np.atleast_2d(seconds)
    return in_efforts(watts, seconds, sd, fit(watts, seconds, sd), PRIOR_MEAN, PRIOR_COV)


def test_ordinary_efforts_do_not_contradict_each_other():
    found = check(*efforts())
    assert (found.effort == -1).all()
    assert (found.partner == -1).all()
    assert (found.sds == 0).all()


@pytest.mark.parametrize("factor", [0.5, 2.0])
@pytest.mark.parametrize("position", range(4))
def test_one_outlier_among_four_is_the_one_to_check(position, factor):
    watts, seconds = efforts()
    watts[:, position] *= factor
    found = check(watts, seconds)
    assert (found.effort == position).all()
    assert (np.sign(found.sds) == np.sign(factor - 1)).all()
    assert (np.abs(found.sds) > FULL_WEIGHT_SD).all()


@pytest.mark.parametrize("factor", [0.5, 2.0])
@pytest.mark.parametrize("position", range(3))
def test_one_outlier_among_four_moves_critical_power_by_less_than_3_percent(position, factor):
    watts, seconds = efforts(seed=7)
    odd = watts.copy()
    odd[:, position] *= factor
    moved = np.abs(np.expm1(fit(odd, seconds)[:, 0] - fit(watts, seconds)[:, 0]))
    assert moved.max() < 0.03
    assert (check(odd, seconds).effort == position).all()


@pytest.mark.parametrize("factor", [0.5, 2.0])
def test_an_absurd_longest_effort_leaves_no_trace_of_its_own(factor):
    """The longest effort pins CP, so that without it CP moves by up to 4 %; an absurd one does no more than lack."""
    watts, seconds = efforts(seed=7)
    odd, lacking = watts.copy(), watts.copy()
    odd[:, 3] *= factor
    lacking[:, 3] = NAN
    assert np.abs(np.expm1(fit(odd, seconds)[:, 0] - fit(lacking, seconds)[:, 0])).max() < 0.001
    moved = np.abs(np.expm1(fit(odd, seconds)[:, 0] - fit(watts, seconds)[:, 0]))
    assert np.percentile(moved, 90) < 0.03
    assert moved.max() < 0.05


def test_an_outlier_names_the_effort_that_it_cannot_stand_beside():
    # Twelve minutes at more than the power of one minute: at odds with all, and most with the five minutes
    found = check([330.0, 270.0, 215.0, 420.0], SECONDS)
    assert (found.effort.item(), found.partner.item()) == (3, 2)
    # Half of its power at one minute is too slow, and all that is longer beats it
    found = check([160.0, 270.0, 215.0, 195.0], SECONDS)
    assert (found.effort.item(), found.partner.item()) == (0, 1)
    assert found.sds.item() < 0


def test_an_outlier_that_no_single_effort_contradicts_stands_alone():
    # Far too fast a minute: shorter is always faster, so no other effort rules it out
    found = check([700.0, 250.0, 212.0, 195.0], SECONDS)
    assert (found.effort.item(), found.partner.item()) == (0, -1)
    assert found.sds.item() > 0


def test_a_longer_effort_with_more_power_is_found_where_the_fit_passes_between():
    watts, seconds = [[250.0, 280.0]], [[60.0, 120.0]]
    residual = (np.log(watts) - log_power(np.array(seconds), fit(np.array(watts), np.array(seconds))[:, None])) / SD
    assert (np.abs(residual) < FULL_WEIGHT_SD).all()
    found = check(watts, seconds)
    assert found.effort.item() >= 0
    assert {found.effort.item(), found.partner.item()} == {0, 1}
    assert abs(found.sds.item()) == pytest.approx(np.log(280 / 250) / (SD * np.sqrt(2)))


@pytest.mark.parametrize(
    ("strength", "factor", "odd", "told_by_the_pair_alone"), [(0.3, 0.888, 0, 1), (-0.3, 1.12, 1, 0)]
)
def test_of_a_pair_the_one_further_from_everything_else_is_checked(strength, factor, odd, told_by_the_pair_alone):
    # Someone stronger (weaker) than the prior, for whom the prior alone would point at the right effort
    seconds = np.array([119.0, 120.0, 60.0, 300.0, 720.0])
    watts = np.exp(log_power(seconds, PRIOR_MEAN + np.array([strength, strength, 0.0])))
    watts[odd] *= factor
    found = check(watts, seconds)
    assert (found.effort.item(), found.partner.item()) == (odd, 1 - odd)
    assert np.sign(found.sds.item()) == np.sign(factor - 1)
    assert PAIR_SD < abs(found.sds.item()) < FULL_WEIGHT_SD
    assert check(watts[:2], seconds[:2]).effort.item() == told_by_the_pair_alone


def test_a_pair_does_not_vouch_for_itself():
    # The fit follows the surer of the two; what everything else says, here the prior, follows neither
    seconds, sd = np.array([[119.0, 120.0]]), np.array([[0.02, 0.05]])
    watts = np.exp(log_power(seconds, PRIOR_MEAN) + np.array([[-0.12, 0.04]]))
    residual = (np.log(watts) - log_power(seconds, fit(watts, seconds, sd)[:, None])) / sd
    assert np.abs(residual).argmax() == 1
    assert check(watts, seconds, sd).effort.item() == 0


def test_a_pair_within_the_noise_of_both_is_left_alone():
    both = SD * np.sqrt(2)
    within, beyond = (check([250.0, 250.0 * np.exp(sds * both)], [118.0, 120.0]) for sds in (2.4, 2.6))
    assert within.effort.item() == -1
    assert beyond.effort.item() >= 0


def test_an_old_effort_contradicts_less():
    watts, seconds = [250.0, 280.0], [60.0, 120.0]
    assert check(watts, seconds).effort.item() >= 0
    assert check(watts, seconds, np.array([[0.12, 0.03]])).effort.item() == -1


def test_two_efforts_of_one_duration_are_no_pair():
    assert check([200.0, 225.0], [120.0, 120.0]).effort.item() == -1


def test_missing_efforts_are_never_named():
    watts, seconds = efforts(20)
    watts[:, 1] *= 2.0
    wide = np.full((20, 7), NAN), np.full((20, 7), NAN)
    wide[0][:, [0, 2, 3, 6]], wide[1][:, [0, 2, 3, 6]] = watts, seconds
    found, narrow = check(*wide), check(watts, seconds)
    np.testing.assert_array_equal(found.effort, np.array([0, 2, 3, 6])[narrow.effort])
    np.testing.assert_allclose(found.sds, narrow.sds)


@pytest.mark.parametrize("columns", [0, 3])
def test_no_efforts_no_contradiction(columns):
    nothing = np.full((2, columns), NAN)
    found = check(nothing, nothing)
    assert found.effort.tolist() == [-1, -1]


def test_nobody_at_all():
    found = in_efforts(np.empty((0, 3)), np.empty((0, 3)), SD, np.empty((0, 3)), PRIOR_MEAN, PRIOR_COV)
    assert found.effort.shape == (0,)


def test_athletes_do_not_influence_each_other():
    watts, seconds = efforts(12)
    watts[::3, 2] *= 1.6
    watts[1::3, 1] = watts[1::3, 0] * 1.13
    together = check(watts, seconds)
    alone = [check(watts[i], seconds[i]) for i in range(12)]
    np.testing.assert_array_equal(together.effort, [one.effort.item() for one in alone])
    np.testing.assert_array_equal(together.partner, [one.partner.item() for one in alone])
    np.testing.assert_allclose(together.sds, [one.sds.item() for one in alone], atol=1e-6)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(30.0, 2000.0), st.floats(5.0, 3600.0)), min_size=1, max_size=6))
def test_whatever_is_named_is_an_effort_and_out_of_the_ordinary(rows):
    watts, seconds = np.array(rows).T
    found = check(watts, seconds)
    effort, partner, sds = found.effort.item(), found.partner.item(), found.sds.item()
    assert np.isfinite(sds)
    assert effort < len(rows)
    assert (effort == -1) == (sds == 0)
    if effort >= 0:
        assert abs(sds) > min(PAIR_SD, FULL_WEIGHT_SD)
        assert partner != effort
    if partner >= 0:
        slower, faster = sorted((effort, partner), key=lambda column: watts[column])
        assert seconds[slower] < seconds[faster]


def test_a_count_far_from_the_others():
    observed, sd = np.array([[20.0, 21.0, 19.0, 45.0], [20.0, 21.0, 19.0, 22.0], [12.0, NAN, NAN, NAN]]), 0.08
    mean, _ = estimate_repetitions(observed, sd, np.log(15.0), 0.5)
    found = in_trials(observed, sd, mean)
    assert found.effort.tolist() == [3, -1, -1]
    assert found.sds[0] == pytest.approx((np.log(45.0) - mean[0]) / sd)
    assert found.partner.tolist() == [-1, -1, -1]


def test_a_maximum_far_below_the_others():
    observed = np.array([[100.0, 104.0, 50.0]])
    mean, _ = estimate_repetitions(observed, 0.03, np.log(80.0), 0.5)
    found = in_trials(observed, 0.03, mean)
    assert found.effort.item() == 2
    assert found.sds.item() < -FULL_WEIGHT_SD


def test_no_trials():
    assert in_trials(np.empty((3, 0)), 0.08, np.zeros(3)).effort.tolist() == [-1, -1, -1]
