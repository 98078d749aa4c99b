import numpy as np
import pytest

from athletes.capacity.firmness import firmness
from athletes.capacity.people import People
from athletes.capacity.plausibility import (
    Doubt,
    doubt_effort,
    doubt_one_rep_max,
    doubt_rate,
    doubt_repetitions,
    effort_surprise,
    sentence,
    surprise,
)
from athletes.capacity.power_duration import estimate
from athletes.capacity.priors import engine_prior


@pytest.mark.parametrize(
    ("engine", "power", "seconds", "doubt"),
    [
        ("row", 202.5, 480.0, Doubt.NONE),
        ("row", 2800.0, 200.0, Doubt.IMPOSSIBLE),  # 3:20 for 2000 m
        ("row", 15.0, 480.0, Doubt.IMPOSSIBLE),
        ("row", np.nan, 480.0, Doubt.IMPOSSIBLE),
        ("row", 900.0, 3.0, Doubt.TOO_SHORT),
        ("run", 5.0, 80.0, Doubt.NONE),
        ("run", 13.0, 80.0, Doubt.IMPOSSIBLE),
    ],
)
def test_bounds_of_efforts(engine, power, seconds, doubt):
    assert doubt_effort(engine, power, seconds) == doubt


def test_bounds_of_repetitions_and_lifts():
    assert doubt_repetitions(np.array([-1.0, 0.0, 499.0, 501.0])).tolist() == [1, 0, 0, 1]
    assert doubt_rate(np.array([0.0, 200.0, 500.0])).tolist() == [0, 0, 1]
    assert doubt_one_rep_max(np.array([80.0, 501.0])).tolist() == [0, 1]


def test_the_predictive_interval_counts_estimate_and_trial():
    # Posterior 258.1629 with SD 0.0493197, trial SD 0.05: 95 % of results between 224.9639 and 296.2612
    z = surprise(np.array([224.9639, 296.2612]), np.log(258.1629), 0.0493197, 0.05)
    np.testing.assert_allclose(z, [-1.959964, 1.959964], atol=1e-4)


def test_a_result_out_of_line_with_the_athletes_own_is_questioned():
    mean, cov = engine_prior("row", People.of("", np.nan))
    theta, covariance = estimate(np.array([[202.5, 260.0]]), np.array([[480.0, 150.0]]), 0.03, mean, cov)
    z = effort_surprise(np.array([203.0, 300.0, 130.0]), 480.0, 0.03, theta, covariance)
    doubts = doubt_effort("row", np.array([203.0, 300.0, 130.0]), 480.0, z)
    assert doubts.tolist() == [Doubt.NONE, Doubt.FAR_ABOVE, Doubt.FAR_BELOW]


def test_every_doubt_has_a_sentence_that_asks():
    assert sentence(Doubt.NONE) == ""
    assert all(sentence(doubt).endswith(("?", ".")) for doubt in Doubt if doubt)


def test_firmness_in_words():
    assert firmness(np.array([0.01, 0.05, 0.051, 0.12, 0.13, np.nan])).tolist() == [
        "firm",
        "firm",
        "fair",
        "fair",
        "rough",
        "rough",
    ]
