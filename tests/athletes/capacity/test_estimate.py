"""All of an athlete in one estimate: six members judged as a coach would, and what holds for anybody."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from athletes.capacity.best import best_kcal, best_time_for_distance
from athletes.capacity.constants import ENGINES, LOAD_TRIAL_SD, MISFIT_SD, STRENGTH_DRIFT_SD
from athletes.capacity.engines import Efforts, estimate_engines
from athletes.capacity.estimate import Library, Trials, estimate, prior_parts
from athletes.capacity.kinship import level_correlation
from athletes.capacity.movements import CURVE_SCALE, Movement, movement_prior
from athletes.capacity.observations import effort_sd
from athletes.capacity.people import People
from athletes.capacity.power_duration import log_power, log_power_sd
from athletes.capacity.priors import PUBLISHED, engine_prior
from tests.athletes.capacity.members import EFFORTS, LIBRARY, NAN, PEOPLE, PLACE, PULL, TRIALS, A, B, C, D, E, F

FEW = settings(max_examples=40, deadline=None)
LADDER = Library(
    (
        Movement("repetitions", 4, 0.8, PULL),
        Movement("repetitions", 8, 0.65, PULL),
        Movement("repetitions", 16, 0.5, PULL),
    ),
    ((1, 0), (2, 1)),
)


@pytest.fixture(scope="module")
def members():
    return estimate(LIBRARY, PEOPLE, EFFORTS, TRIALS)


def best(members, name):
    return np.exp(members.best(PLACE[name])[0])


def rate(members, name, seconds=60.0):
    return np.exp(log_power(seconds, members.curve(PLACE[name])[0]))


# --- Members A to F: would a coach agree? ---


def test_what_was_tested_comes_back(members):
    for place, trials in TRIALS.items():
        shown = trials.best[:, 0]
        known = shown > 0
        np.testing.assert_allclose(np.exp(members.best(place)[0])[known], shown[known], rtol=0.05)
    for metres, column in ((2000.0, 0), (500.0, 1)):
        found = best_time_for_distance("row", metres, members.curve("row")[0])[:5]
        np.testing.assert_allclose(found, EFFORTS["row"].duration_s[:5, column], rtol=0.012)
    np.testing.assert_allclose(rate(members, "burpee", 420.0)[:5] * 7.0, [108, 78, 58, 41, 52], rtol=0.04)


def test_an_untested_rung_lies_between_the_tested_ones(members):
    strict, banded, ring = (best(members, name) for name in ("strict pull-up", "banded pull-up", "ring row"))
    assert (strict < banded).all()
    assert (banded < ring).all()
    assert 6.0 < banded[B] < 13.0
    assert 2.0 < banded[D] < 7.0


def test_who_cannot_do_one_is_below_one(members):
    assert (best(members, "strict pull-up")[[D, E]] < 1.0).all()
    # Steps up where the others jump: none in a minute, and nothing is made of it elsewhere
    assert rate(members, "box jump")[D] < 1.0
    assert 15.0 < rate(members, "step-up")[D] < 27.0


def test_the_first_day_of_a_man_of_37(members):
    assert 480.0 < best_time_for_distance("row", 2000.0, members.curve("row")[0])[F] < 520.0
    assert 19.0 < best_kcal(60.0, members.curve("bike")[0])[F] < 27.0
    assert 4.0 < best(members, "strict pull-up")[F] < 8.0
    assert 14.0 < best(members, "push-up")[F] < 28.0
    assert 65.0 < 7.0 * rate(members, "burpee", 420.0)[F] < 95.0
    assert 38.0 < best(members, "overhead press")[F] < 60.0
    assert 70.0 < best(members, "back squat")[F] < 110.0


def test_the_lighter_bell_goes_longer(members):
    light, heavy = best(members, "swing 16 kg"), best(members, "swing 24 kg")
    assert (light > 1.3 * heavy).all()
    assert (light < 2.2 * heavy).all()


def test_the_order_of_the_members_is_kept_everywhere(members):
    for name in ("step-up", "air squat", "rope skip", "burpee"):
        assert rate(members, name)[A] == rate(members, name).max()
    assert members.general_mean[A] == members.general_mean.max()
    assert members.general_mean[E] == members.general_mean.min()


def test_nobody_is_absurd_anywhere(members):
    for name, place in PLACE.items():
        if LIBRARY.movements[place].kind == "paced":
            slow, quick = rate(members, name, 420.0), rate(members, name, 30.0)
            assert ((slow > 3.0) | (rate(members, name) < 1.0)).all(), name
            assert (quick < (150.0 if name != "rope skip" else 220.0)).all(), name
        else:
            mean, sd = members.best(place)
            assert ((np.exp(mean) < 400.0) & (np.exp(mean) > 0.2)).all(), name
            assert ((sd > MISFIT_SD) & (sd < 0.8)).all(), name


# --- What holds for anybody ---


def trials_of(*values, sd=0.08):
    """Of one athlete."""
    return Trials(np.array([values], float), np.full((1, len(values)), sd))


def pulls(strict=None, banded=None, ring=None, **facts):
    given_ = {g: trials_of(value) for g, value in enumerate((strict, banded, ring)) if value is not None}
    people = People.of(facts.get("sex", ""), facts.get("mass", NAN), facts.get("age", NAN))
    return np.exp(estimate(LADDER, people, facts.get("efforts", {}), given_).best_mean[0])


COUNTS = st.integers(0, 60).map(float)


@FEW
@given(COUNTS, COUNTS, st.sampled_from(["male", "female", ""]))
def test_an_untested_rung_lies_between_any_two_tested_ones(hard, easy, sex):
    strict, banded, ring = pulls(strict=min(hard, easy), ring=max(hard, easy), sex=sex)
    low, high = sorted((strict, ring))
    assert low - 1e-9 <= banded <= high + 1e-9


@FEW
@given(COUNTS, st.integers(1, 30), st.sampled_from([{}, {"ring": 20.0}, {"strict": 3.0}]))
def test_a_better_result_never_lowers_any_estimate(result, more, beside):
    worse, better = (pulls(banded=value, **beside) for value in (result, result + more))
    assert (better >= worse - 1e-6).all()


@FEW
@given(st.floats(330.0, 700.0), st.floats(1.0, 60.0))
def test_a_faster_row_never_lowers_anything(seconds, less):
    def rowed(time_s):
        effort = Efforts(np.array([[2.8 * (2000.0 / time_s) ** 3]]), np.array([[time_s]]), np.array([[0.03]]))
        found = estimate(LIBRARY, People.of("female", 66.0, 40.0), {"row": effort}, {})
        curves = log_power(240.0, found.curve_mean[0])
        return np.append(curves, found.best_mean[0])

    assert (rowed(seconds - less) >= rowed(seconds) - 1e-6).all()


ABOVE_ZERO = st.floats(-7.0, 7.0).map(lambda exponent: 10.0**exponent)
ABSURD = st.one_of(st.just(0.0), ABOVE_ZERO)


@FEW
@given(st.lists(st.tuples(st.integers(0, len(LIBRARY.movements) - 1), ABSURD, ABOVE_ZERO), max_size=8))
def test_absurd_results_never_give_anything_that_is_not_a_number(results):
    efforts, trials = {}, {}
    for place, value, seconds in results:
        if place in LIBRARY.bests:
            trials[place] = trials_of(value)
        else:
            efforts[place] = Efforts(np.array([[value]]), np.array([[seconds]]), np.array([[0.1]]))
    found = estimate(LIBRARY, People.of("", NAN), efforts, trials)
    for mean, covariance in ((found.curve_mean, found.curve_cov), (found.best_mean, found.best_cov)):
        assert np.isfinite(mean).all()
        assert (np.linalg.eigvalsh(covariance) > 0).all()
    assert (found.general_sd > 0).all()
    assert (found.general_sd <= 1.0 + 1e-9).all()


@pytest.mark.parametrize("value", [-1.0, np.inf])
def test_a_result_that_cannot_be_is_refused(value):
    with pytest.raises(ValueError, match="result"):
        estimate(LADDER, People.of("", NAN), {}, {0: trials_of(value)})
    row = Efforts(np.array([[value]]), np.array([[60.0]]), np.array([[0.03]]))
    with pytest.raises(ValueError, match="power"):
        estimate(LADDER, People.of("", NAN), {"row": row}, {})


def test_a_strong_engine_is_no_beginner_on_the_bar_nor_a_champion():
    strong = Efforts(np.array([[330.0]]), np.array([[410.0]]), np.array([[0.03]]))
    nothing, rows_well = (pulls(sex="female", mass=68.0, age=30.0, efforts=e)[0] for e in ({}, {"row": strong}))
    assert 1.2 * nothing < rows_well < 3.0 * nothing


def test_a_strong_bar_says_something_of_the_engine():
    people = People.of("male", 82.0, 30.0)
    alone = engine_prior("row", people)[0][0, 0]
    by_pulling = estimate(LADDER, people, {}, {0: trials_of(25.0)}).curve("row")[0][0, 0]
    assert alone < by_pulling < alone + 0.2


def test_a_heavy_strong_rower_is_no_fast_runner():
    # The same 250 W for seven minutes at 62 and at 98 kg: per kilogram the one is far ahead
    row = Efforts(np.full((2, 1), 250.0), np.full((2, 1), 420.0), np.full((2, 1), 0.03))
    found = estimate(Library(()), People.of("male", [62.0, 98.0], 30.0), {"row": row}, {})
    light, heavy = np.exp(log_power(420.0, found.curve("run")[0]))
    assert heavy < 0.87 * light


def test_nothing_but_zeros_gives_numbers_and_works():
    zeros = {g: trials_of(0.0) for g in LIBRARY.bests}
    none = {g: Efforts(np.zeros((1, 1)), np.full((1, 1), 60.0), np.full((1, 1), 0.1)) for g in LIBRARY.curves[4:]}
    found = estimate(LIBRARY, People.of("", NAN), none, zeros)
    assert (found.best_mean < 0.0).all()
    for g in LIBRARY.curves[4:]:
        assert np.exp(log_power(60.0, found.curve(g)[0]))[0] < 1.0
    assert np.isfinite(found.curve_mean).all()
    for covariance in (found.curve_cov, found.best_cov):
        assert (np.linalg.eigvalsh(covariance) > 0).all()
    row, usual = best_time_for_distance("row", 2000.0, found.curve("row")[0])[0], 510.0
    assert usual < row < 1.6 * usual


def test_who_once_could_not_and_now_can_is_judged_by_what_they_can():
    rates, seconds = np.array([[0.0, 20.0]]), np.array([[60.0, 90.0]])
    found = estimate(
        LIBRARY, People.of("", NAN), {PLACE["box jump"]: Efforts(rates, seconds, np.full((1, 2), 0.1))}, {}
    )
    assert np.exp(log_power(90.0, found.curve(PLACE["box jump"])[0]))[0] == pytest.approx(20.0, rel=0.1)


def test_many_benchmarks_never_make_it_surer_than_the_model_is():
    many = np.full((1, 40), 250.0), np.tile([60.0, 240.0, 420.0, 900.0], 10)[None]
    watts = many[0] * (many[1] / 240.0) ** -0.1
    row = Efforts(watts, many[1], np.full(watts.shape, 0.03))
    found = estimate(Library(()), People.of("male", 82.0, 30.0), {"row": row}, {})
    assert MISFIT_SD <= log_power_sd(300.0, *found.curve("row"))[0] < 1.4 * MISFIT_SD
    pulled = estimate(LADDER, People.of("male", 82.0, 30.0), {}, {0: trials_of(*[10.0] * 40)})
    assert MISFIT_SD <= pulled.best(0)[1][0] < 1.4 * MISFIT_SD


def test_a_stale_maximum_does_not_fall_to_half():
    two_years = effort_sd(LOAD_TRIAL_SD, 730.0, STRENGTH_DRIFT_SD)
    lift = {PLACE["deadlift"]: trials_of(185.0, sd=two_years)}
    found = estimate(LIBRARY, People.of("male", 86.0, 29.0), {}, lift).best(PLACE["deadlift"])
    assert 0.85 * 185.0 < np.exp(found[0][0]) < 185.0
    assert 0.10 < found[1][0] < 0.20


def test_without_any_effort_the_prior_is_kept():
    people = People.of(["male", "female", ""], [82.0, NAN, NAN], [50.0, 30.0, NAN])
    found = estimate(LIBRARY, people, {}, {})
    for engine in ENGINES:
        mean, cov = engine_prior(engine, people)
        np.testing.assert_allclose(found.curve(engine)[0], mean, atol=1e-9)
        misfit = MISFIT_SD**2 * np.outer(CURVE_SCALE, CURVE_SCALE)
        np.testing.assert_allclose(found.curve(engine)[1], cov + misfit, atol=1e-9)
    for g in LIBRARY.bests:
        mean, sd = movement_prior(LIBRARY.movements[g], people)
        np.testing.assert_allclose(found.best(g)[0], mean, atol=1e-9)
        np.testing.assert_allclose(found.best(g)[1], np.hypot(sd, MISFIT_SD), atol=1e-9)
    np.testing.assert_allclose(found.general_mean, 0.0, atol=1e-12)
    np.testing.assert_allclose(found.general_sd, 1.0, atol=1e-12)


def test_with_engines_alone_it_is_the_estimate_of_the_engines():
    together = estimate(Library(()), PEOPLE, {engine: EFFORTS[engine] for engine in ENGINES}, {})
    means, covariances = estimate_engines({engine: EFFORTS[engine] for engine in ENGINES}, PEOPLE)
    for engine in ENGINES:
        np.testing.assert_allclose(together.curve(engine)[0], means[engine], atol=1e-6)
        np.testing.assert_allclose(together.curve(engine)[1], covariances[engine], atol=1e-6)


def test_athletes_do_not_inform_each_other(members):
    for i in (B, F):
        row = np.array([i])
        efforts = {k: Efforts(e.power_w[row], e.duration_s[row], e.sd_log[row]) for k, e in EFFORTS.items()}
        trials = {k: Trials(t.best[row], t.sd_log[row]) for k, t in TRIALS.items()}
        alone = estimate(LIBRARY, PEOPLE.take(row), efforts, trials)
        np.testing.assert_allclose(alone.curve_mean[0], members.curve_mean[i], atol=1e-5)
        np.testing.assert_allclose(alone.best_mean[0], members.best_mean[i], atol=1e-5)


def test_no_athletes_and_no_movements():
    found = estimate(LIBRARY, People.of([], [], []), {}, {})
    assert found.curve_mean.shape == (0, len(LIBRARY.curves), 3)
    assert found.best_mean.shape == (0, len(LIBRARY.bests))
    assert estimate(Library(()), PEOPLE, {}, {}).best_mean.shape == (6, 0)


def test_passing_on_what_is_known_is_the_joint_estimate(members):
    """Against scipy's least squares over everything at once: curves and bests under one joint prior."""
    level = level_correlation(LIBRARY.movements, LIBRARY.ladders)
    for i in (A, C, F):
        row = np.array([i])
        curves, bests = prior_parts(LIBRARY, PEOPLE.take(row), PUBLISHED)
        between = np.outer(curves.with_general, bests.with_general)  # only general fitness joins the parts
        prior = np.block([[curves.covariance, between], [between.T, bests.covariance]])
        mean = np.concatenate([curves.mean[0], bests.mean[0]])
        root = np.linalg.cholesky(np.linalg.inv(prior)).T
        assert level.shape == (1 + 4 + len(PLACE),) * 2

        def residuals(theta, i=i, mean=mean, root=root):
            parts = [root @ (theta - mean)]
            for key, own in EFFORTS.items():
                c = LIBRARY.curves.index(key)
                fit = log_power(own.duration_s[i], theta[3 * c : 3 * c + 3])
                away = (np.log(own.power_w[i]) - fit) / np.hypot(own.sd_log[i], MISFIT_SD)
                parts.append(away[~np.isnan(away)])
            for key, own in TRIALS.items():
                g = 3 * len(LIBRARY.curves) + LIBRARY.bests.index(key)
                away = (np.log(own.best[i]) - theta[g]) / np.hypot(own.sd_log[i], MISFIT_SD)
                parts.append(away[~np.isnan(away)])
            return np.concatenate(parts)

        solution = least_squares(residuals, mean, xtol=1e-12, ftol=1e-12, gtol=1e-12)
        found = np.concatenate([members.curve_mean[i].ravel(), members.best_mean[i]])
        np.testing.assert_allclose(found, solution.x, atol=3e-3)
        spread = np.sqrt(np.diag(np.linalg.inv(solution.jac.T @ solution.jac)))
        misfit = np.concatenate(
            [np.tile(CURVE_SCALE * MISFIT_SD, len(LIBRARY.curves)), [MISFIT_SD] * len(LIBRARY.bests)]
        )
        sds = np.concatenate([np.sqrt(np.diag(members.curve_cov[i])), np.sqrt(np.diag(members.best_cov[i]))])
        np.testing.assert_allclose(sds, np.hypot(spread, misfit), rtol=0.02)
