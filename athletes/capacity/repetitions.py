"""The most unbroken repetitions of a movement, or the one-repetition maximum of a lift, from trials."""

import numpy as np

from athletes.capacity import posterior


def estimate(observed, sd_log, prior_mean, prior_sd):
    """Most probable log of one quantity for n athletes, and its SD: normal in the logarithm, so conjugate.

    `observed` (n, m) holds repetitions, seconds of a hold, or one-repetition maxima in kg; NaN where there are fewer
    than m trials. `sd_log`, the SD of the log of a trial, broadcasts to (n, m); `prior_mean` and `prior_sd`, both of
    the logarithm, broadcast to (n,). Returns two arrays (n,). Without a trial the prior comes back.
    A trial far from the others loses its weight (see `posterior`). ValueError for a value or SD not above zero:
    none at all is not a trial but a movement that the athlete does not do yet.
    """
    observed = np.asarray(observed, float)
    n = len(observed)
    mean, sd = np.broadcast_to(prior_mean, (n,)), np.broadcast_to(np.asarray(prior_sd, float), (n,))
    sd_log = np.broadcast_to(sd_log, observed.shape)
    means, sds = estimate_together(observed[:, None], sd_log[:, None], mean[:, None], sd[:, None, None] ** 2)
    return means[:, 0], sds[:, 0]


def estimate_together(observed, sd_log, prior_mean, prior_cov):
    """Most probable logs of g quantities that inform each other, for n athletes, and their SDs.

    `observed` and `sd_log` are (n, g, m), `prior_mean` broadcasts to (n, g), `prior_cov` is (n, g, g), or (1, g, g)
    where all share it. Returns two arrays (n, g). The rest as in `estimate`.
    """
    seen = ~np.isnan(observed)
    for values, name in ((observed, "result"), (sd_log, "trial SD")):
        if not np.all((values[seen] > 0) & np.isfinite(values[seen])):
            raise ValueError(f"Every trial needs a {name} above zero.")
    prior_mean = np.broadcast_to(prior_mean, observed.shape[:2])[..., None]
    log_observed = np.log(np.where(seen, observed, np.nan))
    mean, covariance = posterior.estimate(_model, log_observed, log_observed, sd_log, prior_mean, prior_cov)
    return mean[..., 0], np.sqrt(covariance[..., 0, 0])


def _model(theta, given):
    """A trial shows the quantity itself: for `posterior`."""
    return np.broadcast_to(theta, given.shape), (np.ones(given.shape),), ()
