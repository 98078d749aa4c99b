"""What the athletes can do at their chosen stations: most probable, and on the cautious side."""

from dataclasses import dataclass

import numpy as np

from sessions.scaling.chosen import Chosen
from sessions.scaling.demand import diagonal, put_sets_of_others
from sessions.scaling.effort import Effort, effort_of, lean_of

SMALLEST_SD = 1e-12  # below it an estimate counts as exact


@dataclass(frozen=True, eq=False)
class Ability:
    """Abilities at the chosen rungs: of engines an `Effort` (E, n) and the `rate` [1/s] (E, n) at which W' comes back,
    of movements the `most` repetitions or seconds (M, n).
    """

    chosen: Chosen
    effort: Effort
    rate: np.ndarray
    most: np.ndarray

    def fraction_of(self, power, amount):
        """Powers (E, n) and amounts (M, n) as fractions x (S, n) of the capacity: (P − CP)·w / W' >= 0, or n / M."""
        above = np.maximum(power - self.effort.critical_power, 0.0)
        above *= self.chosen.engines.window_s
        above /= self.effort.w_prime
        return self.chosen.weave(above, amount / self.most)

    def dose_of(self, fraction):
        """The doses (S, n) that ask for fractions x: the inverse of `fraction_of`, at CP or more for an engine."""
        chosen, effort = self.chosen, self.effort
        power = fraction[chosen.ladder.engine_rows] * effort.w_prime
        power /= chosen.engines.window_s
        power += effort.critical_power
        return chosen.weave(chosen.engines.dose_at(power), fraction[chosen.ladder.movement_rows] * self.most)

    def demand(self, task):
        """The demand matrix G (S, S, n); rows and columns of stations at rest mean nothing."""
        chosen, ladder = self.chosen, self.chosen.ladder
        demand, rows = np.empty(chosen.coupling.shape), ladder.movement_rows
        left = np.exp(-task.step_s * self.rate)
        put_sets_of_others(demand, ladder.engine_at, left, task.rotations, task.slow_sets)
        diagonal(demand)[ladder.engine_rows] = self.effort.seconds / chosen.engines.window_s
        sets = task.movement_sets[rows][..., None]
        demand[rows] = np.where(chosen.asked.is_engine[rows][:, None], demand[rows], sets) if ladder.mixed else sets
        demand *= chosen.coupling
        return demand


@dataclass(frozen=True, eq=False)
class Doubt:
    """How unsure targets are: along the gradient (1, 0, 0) + a·lean of the log of the power held at engines, where a is
    the share of that power which lies above CP, and as the SD (M, n) of the log of the most repetitions.

    Covariance C times the two parts of the gradient, `at_cp` C·(1, 0, 0) and `leaning` C·lean, both (3, E, n), and
    `lean_variance` leanᵀ·C·lean (E, n): the covariance itself is needed only once.
    """

    at_cp: np.ndarray
    leaning: np.ndarray
    lean_variance: np.ndarray
    log_most_sd: np.ndarray

    def sd(self, share_above):
        """SD (E, n) of the log of the power at engines, by the delta method."""
        variance = share_above * self.lean_variance
        variance += 2.0 * self.leaning[0]
        variance *= share_above
        variance += self.at_cp[0]
        return np.sqrt(np.maximum(variance, 0.0, out=variance), out=variance)


def abilities_of(task, crowd, chosen, recovery):
    """The most probable `Ability`, the cautious one, the `Doubt` about them, and the SD (S, n) of the log of targets.

    `recovery` (E, n) is the mean power between an engine's sets as a share of CP. The cautious ability is that which
    most probably puts each station's target at a quantile of its distribution: for an engine with the gradient g of the
    log of the power held θ = m − z·C·g / √(gᵀ·C·g) (first order), for a movement log M − z·sd; z is `task.caution`.
    """
    rows, at = chosen.ladder.movement_rows, chosen.ladder.movement_at
    estimates = crowd.repetitions_mean, crowd.repetitions_sd
    log_most, log_most_sd = crowd.at_options(estimates, chosen.option[rows], at)
    theta = np.exp(crowd.at_engines(crowd.mean, chosen.engines.engine))
    expected = _ability(task, chosen, theta, np.exp(log_most), recovery)
    doubt = _doubt(task, crowd, expected, log_most_sd)
    _, share_above = expected.effort.power(task.limit)
    sd = doubt.sd(share_above)
    cautious = share_above * doubt.leaning
    cautious += doubt.at_cp
    cautious *= -task.caution / np.maximum(sd, SMALLEST_SD)
    np.exp(cautious, out=cautious)
    cautious *= theta
    most = np.exp(log_most - task.caution * log_most_sd)
    return expected, _ability(task, chosen, cautious, most, recovery), doubt, chosen.weave(sd, log_most_sd)


def _ability(task, chosen, theta, most, recovery):
    rate = theta[0] / theta[1]
    rate *= 1.0 - recovery
    work = chosen.engines
    effort = effort_of(theta, rate, work.window_s, work.rest_s, work.slow_s, task.rotations)
    return Ability(chosen, effort, rate, most)


def _doubt(task, crowd, expected, log_most_sd):
    work = expected.chosen.engines
    cov = crowd.at_engines(crowd.cov, work.engine)
    lean = lean_of(expected.effort, expected.rate, work.window_s, work.rest_s, task.rotations)
    leaning = np.einsum("abkn,bkn->akn", cov, lean)
    return Doubt(cov[:, 0], leaning, np.einsum("akn,akn->kn", leaning, lean), log_most_sd)
