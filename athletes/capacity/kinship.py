"""How much one engine says of another, and one movement of another: correlations of the prior.

They hold between athletes of the same sex and mass, in the logarithm. No published transfer between machines was
found, nor between movements, so every number here is common practice, on the low side: a correlation that is too low
only leaves an estimate wider than it need be.
"""

import numpy as np

from athletes.capacity.constants import ENGINES

# Of (log CP, log W', log k) between two ergometers, and between running and an ergometer. The ramp is also the habit of
# starting fast on one machine, so it carries less. Running carries the body and spares the arms, so it says less again.
# The parameters of one engine are uncorrelated: sex and mass hold what they share, and no other figure was found.
ERGOMETER_CORRELATION = (0.8, 0.6, 0.5)
RUNNING_CORRELATION = (0.5, 0.3, 0.2)

# Of two movements of one kind that load the same patterns; others share as much of it as their patterns overlap.
MOVEMENT_CORRELATION = 0.6


def engine_correlation(ergometer=ERGOMETER_CORRELATION, running=RUNNING_CORRELATION):
    """Correlations (3, 4, 4) of log CP, log W' and log k between `ENGINES`."""
    run = np.array([engine == "run" for engine in ENGINES])
    with_running = run[:, None] | run
    between = np.where(with_running, *(np.array(values)[:, None, None] for values in (running, ergometer)))
    return np.where(np.eye(len(ENGINES), dtype=bool), 1.0, between)


def joint_covariance(log_sd, correlation=None):
    """Covariance (12, 12) of (log CP, log W', log k) of each engine in turn, from SDs (4, 3).

    `correlation` (3, 4, 4) by parameter, as `engine_correlation` gives it.
    """
    correlation = engine_correlation() if correlation is None else correlation
    engines, parameters = np.shape(log_sd)
    joint = np.zeros((engines, parameters, engines, parameters))
    for p in range(parameters):
        joint[:, p, :, p] = correlation[p] * np.outer(log_sd[:, p], log_sd[:, p])
    return joint.reshape(engines * parameters, engines * parameters)


def movement_correlation(involvement, strength=MOVEMENT_CORRELATION):
    """Correlations (g, g) of the log maxima of g movements from their involvement weights (g, 7).

    `strength` times the overlap of two movements, the cosine between their weights: 1 for the same mix of patterns, 0
    for none in common or none stated. A matrix of cosines is never indefinite, so neither is this one.
    """
    involvement = np.asarray(involvement, float)
    length = np.linalg.norm(involvement, axis=1, keepdims=True)
    direction = np.divide(involvement, length, out=np.zeros_like(involvement), where=length > 0)
    correlation = strength * direction @ direction.T
    np.fill_diagonal(correlation, 1.0)
    return correlation
