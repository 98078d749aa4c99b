import numpy as np
import pytest

from athletes.capacity.constants import ENGINES
from athletes.capacity.engines import Efforts, estimate_engines
from athletes.capacity.priors import ENGINE_CENTRE, engine_prior, movement_prior

SEXES, MASSES = np.array(["male", "female", "", ""]), np.array([80.0, np.nan, 70.0, np.nan])


@pytest.mark.parametrize("engine", ENGINES)
def test_shapes_and_proper_covariances(engine):
    mean, cov = engine_prior(engine, SEXES, MASSES)
    assert mean.shape == (4, 3)
    assert cov.shape == (4, 3, 3)
    assert np.isfinite(mean).all()
    assert (np.linalg.eigvalsh(cov) > 0).all()


@pytest.mark.parametrize("engine", ENGINES)
def test_an_athlete_who_says_nothing_is_the_centre_and_the_widest(engine):
    mean, cov = engine_prior(engine, SEXES, MASSES)
    np.testing.assert_allclose(np.exp(mean[3]), ENGINE_CENTRE[engine])
    variances = np.diagonal(cov, axis1=1, axis2=2)
    assert (variances[3] >= variances).all()
    assert variances[3, 0] > variances[0, 0]


def test_not_knowing_the_sex_widens_the_prior():
    known, unknown = engine_prior("row", np.array(["male", ""]), np.array([80.0, 80.0]))[1]
    assert unknown[0, 0] > known[0, 0]


def test_a_heavier_athlete_is_expected_to_row_harder_and_run_slower():
    sex, mass = np.array(["", ""]), np.array([60.0, 90.0])
    assert np.diff(engine_prior("row", sex, mass)[0][:, 0]) > 0
    assert np.diff(engine_prior("run", sex, mass)[0][:, 0]) < 0


def test_what_is_unknown_is_refused():
    with pytest.raises(ValueError, match="engine"):
        engine_prior("swim", SEXES, MASSES)
    with pytest.raises(ValueError, match="Sex"):
        engine_prior("row", np.array(["m"]), np.array([80.0]))
    with pytest.raises(ValueError, match="mass"):
        engine_prior("row", np.array(["male"]), np.array([0.0]))
    with pytest.raises(ValueError, match="above zero"):
        movement_prior(0.0, 0.3, 2)


def test_a_movements_prior():
    mean, sd = movement_prior(12.0, 0.5, 3)
    np.testing.assert_allclose(mean, np.log(12.0))
    np.testing.assert_allclose(sd, [0.5, 0.5, 0.5])


def test_all_engines_in_one_call():
    gap = np.array([[np.nan], [np.nan]])
    efforts = {
        "row": Efforts(np.array([[250.0], [np.nan]]), np.array([[480.0], [np.nan]]), np.full((2, 1), 0.03)),
        "bike": Efforts(gap, gap, np.full((2, 1), 0.03)),
    }
    mean, cov = estimate_engines(efforts, np.array(["", ""]), np.array([np.nan, np.nan]))
    assert set(mean) == set(cov) == {"row", "bike"}
    assert mean["row"][0, 0] > mean["row"][1, 0]
    np.testing.assert_allclose(np.exp(mean["bike"]), np.tile(ENGINE_CENTRE["bike"], (2, 1)))
