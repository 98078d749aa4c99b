"""The gym's own centre and spread of an engine, learnt from its athletes' estimates (empirical Bayes).

The athletes' efforts are taken as they stand in their estimates: what an estimate has over its prior is what the
efforts say, a normal likelihood. From those, expectation–maximisation (Dempster, Laird & Rubin 1977, J R Stat Soc B
39:1–38) finds where the gym lies and how it spreads, with the published prior as so many athletes more.
"""

import numpy as np

FEWEST_ATHLETES = 20  # with fewer, nothing is learnt (ours)
PUBLISHED_WEIGHT = 5.0  # athletes that the published prior counts as (ours)
LEAST_SPREAD = 0.5  # of the published SD: a gym that looks alike in a few tests is not yet alike (ours)
LEARNT = np.array([True, True, False])  # the ramp is left as published: a few efforts say too little of it (ours)
STEPS = 40  # of expectation–maximisation: by then nothing shown moves


def learn(mean, covariance, prior_mean, prior_cov, log_sd):
    """Shift (3,) of the centre of (log CP, log W', log k), and SDs (3,) between athletes of known sex and mass.

    Estimates of n athletes with own efforts on one engine: `mean` (n, 3) and `covariance` (n, 3, 3), and the prior each
    was made with, of the same shapes; `log_sd` (3,) the SDs in that prior between athletes of known sex and mass.
    With fewer than `FEWEST_ATHLETES`: a shift of 0 and `log_sd`.
    """
    log_sd = np.asarray(log_sd, float)
    shift, spread = np.zeros(3), log_sd
    if len(mean) < FEWEST_ATHLETES:
        return shift, spread
    precision = np.linalg.inv(covariance)
    told = precision - np.linalg.inv(prior_cov)
    pull = (precision @ (mean - prior_mean)[..., None])[..., 0]
    for _ in range(STEPS):
        between = prior_cov + np.diag(spread**2 - log_sd**2)
        away, uncertainty = _expect(told, pull, between, shift)
        shift, spread = _maximise(away, uncertainty, prior_cov, log_sd)
    return shift, spread


def _expect(told, pull, between, shift):
    """Where each athlete lies from the published centre, (n, 3), and how unsure that is, (n, 3, 3)."""
    weight = np.linalg.inv(between)
    uncertainty = np.linalg.inv(told + weight)
    return (uncertainty @ (pull + weight @ shift)[..., None])[..., 0], uncertainty


def _maximise(away, uncertainty, prior_cov, log_sd):
    """The shift and the SDs that explain the athletes best, the published prior counted in."""
    n = len(away)
    shift = np.where(LEARNT, away.sum(0) / (n + PUBLISHED_WEIGHT), 0.0)
    variances = np.diagonal(uncertainty, axis1=1, axis2=2) + (away - shift) ** 2
    # An unknown sex or mass spreads athletes too, and stands in the prior beside this spread.
    beside = np.diagonal(prior_cov, axis1=1, axis2=2) - log_sd**2
    variance = ((variances - beside).sum(0) + PUBLISHED_WEIGHT * log_sd**2) / (n + PUBLISHED_WEIGHT)
    spread = np.sqrt(np.maximum(variance, (LEAST_SPREAD * log_sd) ** 2))
    return shift, np.where(LEARNT, spread, log_sd)
