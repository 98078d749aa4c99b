"""Efforts of one athlete that do not fit together: which to check, and against what. Nothing is refused or deleted.

Two tests. An effort may lie further from the fit than `FULL_WEIGHT_SD` of its trial noise, where the estimate already
makes little of it. Or a longer effort has a higher power than a shorter one, beyond what the noise of both explains:
nobody can do that, and a fit may still pass between them.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity.arrays import Array, IntArray
from athletes.capacity.constants import FULL_WEIGHT_SD
from athletes.capacity.power_duration import estimate, log_power, log_power_sd

PAIR_SD = 2.5  # SDs of both trials together (ours; as much as is questioned while typing)


@dataclass(frozen=True, eq=False)
class Contradictions:
    """The effort to check of each of n athletes: the one that fits least.

    `effort` (n,) is its column, −1 where nothing is odd. `sds` (n,) says by how many SDs: above 0 it is too fast (too
    many, too heavy), below 0 too slow; 0 where nothing is odd. `partner` (n,) is the column of the effort that it
    cannot stand beside, −1 where it is at odds with the whole.
    """

    effort: IntArray
    sds: Array
    partner: IntArray


def in_efforts(
    power_w: ArrayLike,
    duration_s: ArrayLike,
    sd_log: ArrayLike,
    mean: ArrayLike,
    prior_mean: ArrayLike,
    prior_cov: ArrayLike,
) -> Contradictions:
    """`Contradictions` among n athletes' efforts on one engine.

    `power_w` and `duration_s` (n, m), NaN where there are fewer, `sd_log` broadcasts to them; `mean` (n, 3) the
    estimates. `prior_mean` (3,) or (n, 3) and `prior_cov` (3, 3) or (n, 3, 3) are those of `power_duration.estimate`.

    An effort far from the fit comes first, with the effort it contradicts most if there is one; `sds` are then those
    of its trial noise. Otherwise the worst pair: of the two, the one further from what the prior and all other efforts
    say, and `sds` are those of both trials together.
    """
    power_w, duration_s, sd_log = np.broadcast_arrays(*(np.asarray(a, float) for a in (power_w, duration_s, sd_log)))
    if not power_w.shape[1]:
        return _nothing(len(power_w))
    residual = (np.log(power_w) - log_power(duration_s, np.asarray(mean, float)[:, None])) / sd_log
    found = _furthest(residual)
    excess = _pair_excess(power_w, duration_s, sd_log)
    _name_partners(found, excess)
    rows = np.flatnonzero((found.effort < 0) & (excess.max((1, 2)) > PAIR_SD))
    if rows.size:
        prior_mean = np.broadcast_to(prior_mean, (len(power_w), 3))[rows]
        prior_cov = np.broadcast_to(prior_cov, (len(power_w), 3, 3))[rows]
        efforts = (power_w[rows], duration_s[rows], sd_log[rows])
        found.effort[rows], found.sds[rows], found.partner[rows] = _judge(excess[rows], efforts, prior_mean, prior_cov)
    return found


def in_trials(observed: ArrayLike, sd_log: ArrayLike, mean: ArrayLike) -> Contradictions:
    """`Contradictions` among n athletes' repetitions, seconds of a hold or one-repetition maxima: the first test only.

    `observed` (n, m), NaN where there are fewer, `sd_log` broadcasts to it; `mean` (n,) logs as estimated. A zero,
    which only says "below one", is never the one to check.
    """
    trials = np.asarray(observed, float)
    if not trials.shape[1]:
        return _nothing(len(trials))
    log_shown = np.log(np.where(trials > 0, trials, np.nan))
    return _furthest((log_shown - np.asarray(mean, float)[:, None]) / sd_log)


def _nothing(n: int) -> Contradictions:
    return Contradictions(np.full(n, -1), np.zeros(n), np.full(n, -1))


def _furthest(residual: Array) -> Contradictions:
    """The effort furthest from the fit, of those beyond `FULL_WEIGHT_SD`; `residual` (n, m) in SDs, NaN for none."""
    found, rows = _nothing(len(residual)), np.arange(len(residual))
    size = np.where(np.isnan(residual), 0.0, np.abs(residual))
    worst = size.argmax(1)
    odd = size[rows, worst] > FULL_WEIGHT_SD
    found.effort[odd], found.sds[odd] = worst[odd], residual[rows, worst][odd]
    return found


def _pair_excess(power_w: Array, duration_s: Array, sd_log: Array) -> Array:
    """SDs (n, m, m) by which the effort of the last axis beats a shorter one; 0 where it does not, or is not longer."""
    log_power_w, variance = np.log(power_w), sd_log**2
    more = log_power_w[:, None, :] - log_power_w[:, :, None]
    longer = duration_s[:, None, :] > duration_s[:, :, None]  # False where one is missing
    return np.where(longer & (more > 0), more / np.sqrt(variance[:, None, :] + variance[:, :, None]), 0.0)


def _name_partners(found: Contradictions, excess: Array) -> None:
    """Beside each effort found, the one that it contradicts most, where it does."""
    rows = np.flatnonzero(found.effort >= 0)
    effort = found.effort[rows]
    against = np.maximum(excess[rows, effort], excess[rows, :, effort])
    partner = against.argmax(1)
    found.partner[rows] = np.where(against.max(1) > PAIR_SD, partner, -1)


def _judge(
    excess: Array, efforts: tuple[Array, Array, Array], prior_mean: Array, prior_cov: Array
) -> tuple[IntArray, Array, IntArray]:
    """Of each athlete's worst pair the effort to check, its signed size in SDs, and the other one."""
    n, m, _ = excess.shape
    rows = np.arange(n)
    pair: IntArray = excess.reshape(n, -1).argmax(1)
    shorter, longer = pair // m, pair % m
    power_w, duration_s, sd_log = efforts
    others = power_w.copy()
    others[rows, shorter] = others[rows, longer] = np.nan
    mean, covariance = estimate(others, duration_s, sd_log, prior_mean, prior_cov)
    away = [_away(power_w, duration_s, sd_log, (rows, column), mean, covariance) for column in (shorter, longer)]
    too_slow = away[0] > away[1]
    size = excess[rows, shorter, longer]
    odd: IntArray = np.where(too_slow, shorter, longer)
    other: IntArray = np.where(too_slow, longer, shorter)
    return odd, np.where(too_slow, -size, size), other


def _away(
    power_w: Array,
    duration_s: Array,
    sd_log: Array,
    at: tuple[IntArray, IntArray],
    mean: Array,
    covariance: Array,
) -> Array:
    """How far an effort of each athlete is from what all but the pair say, in SDs of that prediction."""
    seconds = duration_s[at]
    spread = np.hypot(log_power_sd(seconds, mean, covariance), sd_log[at])
    return np.abs(np.log(power_w[at]) - log_power(seconds, mean)) / spread
