"""The most unbroken repetitions of a movement, or the one-repetition maximum of a lift, from trials."""

import numpy as np

from athletes.capacity.posterior import Problem, solve


def estimate(observed, sd_log, prior_mean, prior_sd):
    """Most probable log of one quantity for n athletes, and its SD: normal in the logarithm, so conjugate.

    `observed` (n, m) holds repetitions, seconds of a hold, or one-repetition maxima in kg; NaN where there are fewer
    than m trials. `sd_log`, the SD of the log of a trial, broadcasts to (n, m); `prior_mean` and `prior_sd`, both of
    the logarithm, broadcast to (n,). Returns two arrays (n,). Without a trial the prior comes back.
    A trial far from the others loses its weight (see `posterior`). ValueError for a value or SD not above zero:
    none at all is not a trial but a movement that the athlete does not do yet.
    """
    observed = np.asarray(observed, float)
    sd_log = np.broadcast_to(np.asarray(sd_log, float), observed.shape)
    seen = ~np.isnan(observed)
    for values, name in ((observed, "result"), (sd_log, "trial SD")):
        if not np.all((values[seen] > 0) & np.isfinite(values[seen])):
            raise ValueError(f"Every trial needs a {name} above zero.")
    n, m = observed.shape
    ones = np.ones((n, m, 1))
    variance = np.broadcast_to(np.asarray(prior_sd, float), (n,)) ** 2
    problem = Problem(
        model=lambda theta, rows: (np.broadcast_to(theta, (len(rows), m)), ones[rows]),
        observed=np.log(np.where(seen, observed, 1.0)),
        inverse_sd=np.where(seen, 1.0 / np.where(seen, sd_log, 1.0), 0.0),
        prior_mean=np.broadcast_to(np.asarray(prior_mean, float), (n,))[:, None],
        prior_precision=(1.0 / variance)[:, None, None],
        rows=np.arange(n),
    )
    mean, covariance = solve(problem)
    return mean[:, 0], np.sqrt(covariance[:, 0, 0])
