"""The gym's own centre and spread of an engine or a movement, learnt from its athletes' estimates (empirical Bayes).

The athletes' efforts are taken as they stand in their estimates: what an estimate has over its prior is what the
efforts say, a normal likelihood. From those, expectation–maximisation (Dempster, Laird & Rubin 1977, J R Stat Soc B
39:1–38) finds where the gym lies and how it spreads, with the published prior as so many athletes more.
"""

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array, BoolArray

FEWEST_ATHLETES = 20  # with fewer, nothing is learnt (ours)
PUBLISHED_WEIGHT = 5.0  # athletes that the published prior counts as (ours)
LEAST_SPREAD = 0.5  # of the published SD: a gym that looks alike in a few tests is not yet alike (ours)
LEARNT_OF_A_CURVE = (True, True, False)  # the ramp is left as published: a few efforts say too little of it (ours)
STEPS = 40  # of expectation–maximisation: by then nothing shown moves


def learn(
    mean: Array, covariance: Array, prior_mean: Array, prior_cov: Array, log_sd: ArrayLike
) -> tuple[Array, Array]:
    """Shift (p,) of the centre, and SDs (p,) between athletes of known sex, mass and age: p is 3 for the curve of an
    engine or a paced movement (log CP, log W', log k), 1 for the best of another movement.

    Estimates of n athletes with own efforts there, each from those alone: `mean` (n, p) and `covariance` (n, p, p), and
    the prior each was made with, of the same shapes; `log_sd` (p,) the SDs in that prior between athletes of known sex,
    mass and age. With fewer than `FEWEST_ATHLETES`: a shift of 0 and `log_sd`. ValueError for another p.
    """
    published = np.asarray(log_sd, float)
    if published.shape not in ((3,), (1,)):
        raise ValueError("A gym learns the three parameters of a curve, or the one of a best.")
    learnt = np.array(LEARNT_OF_A_CURVE if len(published) == 3 else (True,))
    shift, spread = np.zeros(len(published)), published
    if len(mean) < FEWEST_ATHLETES:
        return shift, spread
    precision = np.linalg.inv(covariance)
    evidence = precision - np.linalg.inv(prior_cov)
    pull = (precision @ (mean - prior_mean)[..., None])[..., 0]
    for _ in range(STEPS):
        between = prior_cov + np.diag(spread**2 - published**2)
        away, uncertainty = _expect(evidence, pull, between, shift)
        shift, spread = _maximise(away, uncertainty, prior_cov, published, learnt)
    return shift, spread


def _expect(evidence: Array, pull: Array, between: Array, shift: Array) -> tuple[Array, Array]:
    """Where each athlete lies from the published centre, (n, p), and how unsure that is, (n, p, p)."""
    weight = np.linalg.inv(between)
    uncertainty = np.linalg.inv(evidence + weight)
    return (uncertainty @ (pull + weight @ shift)[..., None])[..., 0], uncertainty


def _maximise(
    away: Array, uncertainty: Array, prior_cov: Array, published: Array, learnt: BoolArray
) -> tuple[Array, Array]:
    """The shift and the SDs that explain the athletes best, the published prior counted in."""
    n = len(away)
    shift = np.where(learnt, away.sum(0) / (n + PUBLISHED_WEIGHT), 0.0)
    variances = np.diagonal(uncertainty, axis1=1, axis2=2) + (away - shift) ** 2
    # An unknown sex, mass or age spreads athletes too, and stands in the prior beside this spread.
    beside = np.diagonal(prior_cov, axis1=1, axis2=2) - published**2
    variance = ((variances - beside).sum(0) + PUBLISHED_WEIGHT * published**2) / (n + PUBLISHED_WEIGHT)
    spread = np.sqrt(np.maximum(variance, (LEAST_SPREAD * published) ** 2))
    return shift, np.where(learnt, spread, published)
