"""Which benchmark would tell most: how much surer the targets to come would be after one more result.

Everything is linear at the estimate. A result in benchmark b shows hᵀθ with the noise of a trial; a target's logarithm
moves with gᵀθ. One more result takes (gᵀ·C·h)² / (hᵀ·C·h + s²) off the target's variance gᵀ·C·g, whatever it will be
(the rank-one update of a normal posterior). For engines that is a working model: what is expected to be gained lies
within 15 % of what simulated results bring (see the tests).
"""

from dataclasses import dataclass

import numpy as np

NONE = -1  # no benchmark is worth proposing
LEAST_GAIN = 0.01  # of the summed SD of an athlete's targets: below it a test is not worth the effort (ours)
MOST_TESTS = 3  # proposed to one athlete (ours)


@dataclass(frozen=True, eq=False)
class Proposals:
    """Up to R benchmarks for each of n athletes, the one that tells most first, each given the ones before it.

    `benchmark` (n, R) holds places among the B benchmarks, `NONE` where nothing more is worth it; `gain` (n, R) by how
    much it brings down the weighted sum of the SDs of the targets; `sd` (n, R + 1, T) the SDs before the first and
    after each.
    """

    benchmark: np.ndarray
    gain: np.ndarray
    sd: np.ndarray


def propose(covariance, observe, noise_sd, targets, weight, allowed, most=MOST_TESTS, least=LEAST_GAIN):
    """The `Proposals` for n athletes with D parameters each.

    `covariance` (n, D, D); `observe` (n, B, D), the gradient of the log of each benchmark's result; `noise_sd` (B,) of
    a trial, in the logarithm, > 0; `targets` (n, T, D), the gradient of the log of each target; `weight` (n, T), >= 0,
    how often it is programmed; `allowed` (n, B) is False where a benchmark must not be proposed.
    """
    n = len(covariance)
    benchmark, gain = np.full((n, most), NONE), np.zeros((n, most))
    sd = [_sd(covariance, targets)]
    open_ = np.array(allowed, bool)
    floor = least * (weight * sd[0]).sum(-1)
    for round_ in range(most):
        gains = np.where(open_, expected_gain(covariance, observe, noise_sd, targets, weight), 0.0)
        best = gains.argmax(-1) if gains.shape[1] else np.zeros(n, int)
        found = gains[np.arange(n), best] > floor if gains.shape[1] else np.zeros(n, bool)
        rows, chosen = np.flatnonzero(found), best[found]
        benchmark[rows, round_], gain[rows, round_] = chosen, gains[rows, chosen]
        covariance = np.array(covariance)
        covariance[rows] = after_result(covariance[rows], observe[rows, chosen], noise_sd[chosen])
        open_[rows, chosen] = False
        sd.append(_sd(covariance, targets))
    return Proposals(benchmark, gain, np.stack(sd, 1))


def expected_gain(covariance, observe, noise_sd, targets, weight):
    """By how much each benchmark alone would bring down the weighted sum of the SDs of the targets, (n, B)."""
    before = _sd(covariance, targets)
    after = sd_after(covariance, observe, noise_sd, targets)
    return ((before[:, None] - after) * weight[:, None]).sum(-1)


def sd_after(covariance, observe, noise_sd, targets):
    """SDs (n, B, T) of the log of each target after a result in each benchmark; arrays as in `propose`."""
    along = observe @ covariance  # (n, B, D)
    shown = (along * observe).sum(-1) + noise_sd**2
    told = (along @ np.swapaxes(targets, 1, 2)) ** 2 / shown[..., None]
    return np.sqrt(np.maximum(_variance(covariance, targets)[:, None] - told, 0.0))


def after_result(covariance, observe, noise_sd):
    """Covariance (n, D, D) after one result each: `observe` (n, D) its gradient, `noise_sd` (n,) its SD."""
    along = (covariance @ observe[..., None])[..., 0]
    shown = (along * observe).sum(-1) + noise_sd**2
    return covariance - along[:, :, None] * along[:, None, :] / shown[:, None, None]


def _variance(covariance, targets):
    return ((targets @ covariance) * targets).sum(-1)


def _sd(covariance, targets):
    return np.sqrt(np.maximum(_variance(covariance, targets), 0.0))
