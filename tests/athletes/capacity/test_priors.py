import numpy as np
import pytest

from athletes.capacity.constants import ENGINES
from athletes.capacity.people import People
from athletes.capacity.priors import ENGINE_CENTRE, PUBLISHED, Centre, engine_prior, engines_prior

ROOM = People.of(["male", "female", "", ""], [80.0, np.nan, 70.0, np.nan], [30.0, 30.0, np.nan, np.nan])


@pytest.mark.parametrize("engine", ENGINES)
def test_shapes_and_proper_covariances(engine):
    mean, cov = engine_prior(engine, ROOM)
    assert mean.shape == (4, 3)
    assert cov.shape == (4, 3, 3)
    assert np.isfinite(mean).all()
    assert (np.linalg.eigvalsh(cov) > 0).all()


@pytest.mark.parametrize("engine", ENGINES)
def test_an_athlete_who_says_nothing_is_the_centre_and_the_widest(engine):
    mean, cov = engine_prior(engine, ROOM)
    np.testing.assert_allclose(np.exp(mean[3]), ENGINE_CENTRE[engine])
    variances = np.diagonal(cov, axis1=1, axis2=2)
    assert (variances[3] >= variances).all()
    assert variances[3, 0] > variances[0, 0]


@pytest.mark.parametrize(("sex", "mass", "age"), [("", 80.0, 30.0), ("male", np.nan, 30.0), ("male", 80.0, np.nan)])
def test_what_is_not_known_widens_the_prior(sex, mass, age):
    known, unknown = engine_prior("row", People.of(["male", sex], [80.0, mass], [30.0, age]))[1]
    assert unknown[0, 0] > known[0, 0]


def test_a_heavier_athlete_is_expected_to_row_harder_and_run_slower():
    pair = People.of(["", ""], [60.0, 90.0])
    assert np.diff(engine_prior("row", pair)[0][:, 0]) > 0
    assert np.diff(engine_prior("run", pair)[0][:, 0]) < 0


@pytest.mark.parametrize("engine", ENGINES)
def test_age_takes_a_hundredth_a_year_beyond_thirty_five_and_nothing_before(engine):
    mean = engine_prior(engine, People.of("male", 82.0, [20.0, 35.0, 45.0, 65.0]))[0][:, 0]
    a_year = -0.008 if engine == "run" else -0.010
    np.testing.assert_allclose(mean - mean[0], a_year * np.array([0.0, 0.0, 10.0, 30.0]), atol=1e-12)


def test_an_engine_alone_is_its_part_of_the_joint_prior():
    mean, cov = engines_prior(ROOM)
    assert mean.shape == (4, 12)
    assert (np.linalg.eigvalsh(cov) > 0).all()
    for e, engine in enumerate(ENGINES):
        own = slice(3 * e, 3 * e + 3)
        alone = engine_prior(engine, ROOM)
        np.testing.assert_array_equal(mean[:, own], alone[0])
        np.testing.assert_array_equal(cov[:, own, own], alone[1])


def test_not_knowing_the_mass_ties_the_engines_together():
    # A heavy athlete rows harder and runs slower: so the harder row, the slower run, as far as mass explains it
    known, unknown = engines_prior(People.of("male", [80.0, np.nan], 30.0))[1]
    row, ski, run = (3 * ENGINES.index(engine) for engine in ("row", "ski", "run"))
    assert unknown[row, ski] > known[row, ski]
    assert unknown[row, run] < known[row, run]


def test_another_centre_moves_and_widens_its_own_engine_only():
    shift, log_sd = np.zeros((4, 3)), PUBLISHED.log_sd.copy()
    shift[0, 0], log_sd[0, 0] = -0.2, 0.4
    centre = Centre(PUBLISHED.log_mean + shift, log_sd)
    (mean, cov), (published, wide) = engine_prior("row", ROOM, centre), engine_prior("row", ROOM)
    np.testing.assert_allclose(mean - published, np.tile([-0.2, 0.0, 0.0], (4, 1)), atol=1e-12)
    assert (cov[:, 0, 0] > wide[:, 0, 0]).all()
    np.testing.assert_array_equal(engine_prior("ski", ROOM, centre)[1], engine_prior("ski", ROOM)[1])


def test_what_is_unknown_is_refused():
    with pytest.raises(ValueError, match="engine"):
        engine_prior("swim", ROOM)
    with pytest.raises(ValueError, match="Sex"):
        People.of("m", 80.0)
    with pytest.raises(ValueError, match="mass"):
        People.of("male", 0.0)
    with pytest.raises(ValueError, match="age"):
        People.of("male", 80.0, -1.0)
