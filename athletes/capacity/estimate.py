"""Everything an athlete can do, in one estimate: the door through which the app asks.

Two parts. *Curves*: the engines and the paced movements, three parameters each. *Bests*: repetitions, holds and lifts,
one each. Within a part the prior's covariance joins them (`kinship`); between the parts general fitness alone does, a
number that no test shows but every test bears on. So the parts are solved in turn and pass on what they say of it:
bests, curves, bests again. With a tree of correlations that is the joint estimate itself (belief propagation: Pearl
1988, Probabilistic Reasoning in Intelligent Systems; from memory), at a fraction of its size.

What an unknown sex, mass or age would make of all of it is learnt within each part, not across (an approximation: a
strong row makes an unknown athlete more likely a man for the ski, not for the pull-ups, beyond general fitness).

Misfit of the model: 3 % stands beside the noise of each trial, and once more, shared by all trials of one subject, in
the covariance that comes out. So no number of benchmarks makes a prediction surer than 3 %.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from athletes.capacity import power_duration, repetitions
from athletes.capacity.arrays import Array, BoolArray
from athletes.capacity.constants import ENGINES, MISFIT_SD
from athletes.capacity.engines import Efforts, with_misfit
from athletes.capacity.kinship import curve_correlation, easier_forms, joint_covariance, level_correlation
from athletes.capacity.movements import (
    CURVE_SCALE,
    MINUTE_S,
    PACED,
    Movement,
    bests_mean,
    curves_mean,
    curves_sd,
    effects_of,
)
from athletes.capacity.people import People
from athletes.capacity.power_duration import log_power
from athletes.capacity.priors import PUBLISHED, Centre, engine_effects, spread_of_the_unknown

Subject = str | int  # an engine, or the place of a movement in the library
OF_CURVE = 3  # parameters
# Nothing but zeros in a paced movement: less than one in a minute. Mostly for want of skill or nerve (a jump), so it
# says nothing of anything else (ours).
CANNOT_RATE, CANNOT_SD = 0.5, 0.3


@dataclass(frozen=True)
class Library:
    """The movements of a gym beside the engines, and its ladders: pairs (easier, harder) of places among them."""

    movements: tuple[Movement, ...]
    ladders: tuple[tuple[int, int], ...] = ()

    @property
    def curves(self) -> tuple[Subject, ...]:
        """What has a curve, in the order of the estimate: the engines, then the paced movements."""
        return (*ENGINES, *(g for g, movement in enumerate(self.movements) if movement.kind == PACED))

    @property
    def bests(self) -> tuple[int, ...]:
        """What has one number, in the order of the estimate."""
        return tuple(g for g, movement in enumerate(self.movements) if movement.kind != PACED)


@dataclass(frozen=True, eq=False)
class Trials:
    """Trials of one movement, arrays (n, m), NaN where there are fewer: the best shown (0 where none could be done) and
    the SD of its logarithm."""

    best: Array
    sd_log: Array


@dataclass(frozen=True, eq=False)
class Estimates:
    """Of n athletes: curves (n, c, 3), their joint covariance (n, 3·c, 3·c), logs of bests (n, g) and theirs (n, g, g).

    Curves hold log CP [W], log W' [J], log k [s]; running m/s, m, s; paced movements rep/min, rep/min · s, s.
    `general_mean` and `general_sd` (n,): general fitness among athletes of the same sex, mass and age, in SDs.
    """

    library: Library
    curve_mean: Array
    curve_cov: Array
    best_mean: Array
    best_cov: Array
    general_mean: Array
    general_sd: Array

    def curve(self, subject: Subject) -> tuple[Array, Array]:
        """Mean (n, 3) and covariance (n, 3, 3) of an engine or a paced movement."""
        c = self.library.curves.index(subject)
        own = slice(OF_CURVE * c, OF_CURVE * c + OF_CURVE)
        return self.curve_mean[:, c], self.curve_cov[:, own, own]

    def best(self, movement: int) -> tuple[Array, Array]:
        """Log of the best of another movement, and its SD, (n,) each."""
        g = self.library.bests.index(movement)
        return self.best_mean[:, g], np.sqrt(self.best_cov[:, g, g])


@dataclass(frozen=True, eq=False)
class Part:
    """The prior of one part for n athletes of whom the same is known: `mean` (n, d), `covariance` (d, d), and
    `with_general` (d,), its covariance with general fitness."""

    mean: Array
    covariance: Array
    with_general: Array
    precision: Array = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "precision", np.linalg.inv(self.covariance))

    def given(self, general: Array, variance: Array) -> tuple[Array, Array]:
        """Prior mean (n, d) and precision (n, d, d) where general fitness is known as `general` with a `variance`, (n,)
        each: its own part of the covariance shrinks from 1 to that (the inverse by Sherman & Morrison 1950)."""
        along = self.precision @ self.with_general
        less = 1.0 - variance
        sharper = less / (1.0 - less * (self.with_general @ along))
        precision = self.precision + sharper[:, None, None] * np.outer(along, along)
        return self.mean + general[:, None] * self.with_general, precision

    def general(self, theta: Array, covariance: Array, general: Array, variance: Array) -> tuple[Array, Array]:
        """General fitness and its variance, (n,) each, after this part was estimated from that prior."""
        along = self.precision @ self.with_general
        explained = self.with_general @ along
        weight = (variance / (1.0 - (1.0 - variance) * explained))[:, None] * along
        away = theta - self.mean - general[:, None] * self.with_general
        spread = np.einsum("na,nab,nb->n", weight, covariance, weight)
        return general + (weight * away).sum(-1), variance * (1.0 - weight @ self.with_general) + spread


def estimate(
    library: Library,
    people: People,
    efforts: Mapping[Subject, Efforts],
    trials: Mapping[int, Trials],
    centre: Centre = PUBLISHED,
) -> Estimates:
    """All that n athletes can do, from `efforts` on engines and in paced movements, and `trials` of other movements.

    Keys are engines and places in the library; what nobody did is left out. Paced movements have repetitions a minute
    as `power_w`, and 0 where not one could be done: it counts where an athlete has nothing else there. SDs are those of
    the trials (`observations.effort_sd`). ValueError for a result or SD that is not above zero, other than those zeros.
    """
    n = len(people)
    watts, seconds, effort_sd = (
        _stacked({key: getattr(own, name) for key, own in efforts.items()}, library.curves, n)
        for name in ("power_w", "duration_s", "sd_log")
    )
    best, trial_sd = (
        _stacked({key: getattr(own, name) for key, own in trials.items()}, library.bests, n)
        for name in ("best", "sd_log")
    )
    tested = np.asarray((~np.isnan(best)).any(-1))
    cannot = (watts == 0).any(-1) & ~(watts > 0).any(-1)
    watts = np.where(watts == 0, np.nan, watts)
    curves, bests = len(library.curves), len(library.bests)
    found = Estimates(
        library,
        np.empty((n, curves, OF_CURVE)),
        np.empty((n, OF_CURVE * curves, OF_CURVE * curves)),
        np.empty((n, bests)),
        np.empty((n, bests, bests)),
        np.empty(n),
        np.empty(n),
    )
    for rows in people.alike():
        of_curves, of_bests = prior_parts(library, people.take(rows), centre)
        own_efforts = (watts[rows], seconds[rows], with_misfit(effort_sd[rows]))
        own_trials = (best[rows], with_misfit(trial_sd[rows]))
        # What bests say of general fitness is passed on to the curves, and what the curves alone say back to the bests.
        nothing, one = np.zeros(len(rows)), np.ones(len(rows))
        theta, spread = repetitions.estimate_together(*own_trials, *of_bests.given(nothing, one))
        by_bests, variance_by_bests = of_bests.general(theta, spread, nothing, one)
        theta, spread = power_duration.estimate_together(*own_efforts, *of_curves.given(by_bests, variance_by_bests))
        flat = theta.reshape(len(rows), -1)
        by_both, variance = of_curves.general(flat, spread, by_bests, variance_by_bests)
        found.curve_mean[rows], found.curve_cov[rows] = theta, spread
        found.general_mean[rows], found.general_sd[rows] = by_both, np.sqrt(variance)
        variance_by_curves = 1.0 / np.maximum(1.0 / variance - 1.0 / variance_by_bests + 1.0, 1.0)
        by_curves = variance_by_curves * (by_both / variance - by_bests / variance_by_bests)
        found.best_mean[rows], found.best_cov[rows] = repetitions.estimate_together(
            *own_trials, *of_bests.given(by_curves, variance_by_curves)
        )
    _mark_what_cannot_be_done(found, cannot)
    found.curve_cov[:] += np.kron(np.eye(curves), MISFIT_SD**2 * np.outer(CURVE_SCALE, CURVE_SCALE))
    found.best_cov[:] += MISFIT_SD**2 * np.eye(bests)
    found.best_mean[:] = _in_order(library, found.best_mean, tested)
    return found


def prior_parts(library: Library, people: People, centre: Centre) -> tuple[Part, Part]:
    """The priors of curves and bests for athletes of whom the same is known."""
    level = level_correlation(library.movements, library.ladders)
    first = 1 + len(ENGINES)
    paced = [first + g for g in library.curves[len(ENGINES) :] if isinstance(g, int)]
    others = [first + g for g in library.bests]

    paced_movements = [library.movements[g - first] for g in paced]
    at_engines = centre.log_mean.ravel() + people.position @ engine_effects()
    at_paced = curves_mean(paced_movements, people).reshape(len(people), -1)
    log_sd = np.concatenate([centre.log_sd, curves_sd(paced_movements)])
    of_curves = [*range(1, first), *paced]
    correlation = curve_correlation(level[np.ix_(of_curves, of_curves)], len(paced))
    effects = np.concatenate([engine_effects(), np.kron(effects_of(paced_movements), CURVE_SCALE)], 1)
    curves = Part(
        np.concatenate([at_engines, at_paced], 1),
        joint_covariance(log_sd, correlation) + _of_one(effects, people),
        np.kron(level[0, of_curves] * log_sd[:, 0], [1.0, 0.0, 0.0]),
    )

    movements = [library.movements[g] for g in library.bests]
    sd = np.array([movement.known_sd for movement in movements])
    bests = Part(
        bests_mean(movements, people),
        level[np.ix_(others, others)] * np.outer(sd, sd) + _of_one(effects_of(movements), people),
        level[0, others] * sd,
    )
    return curves, bests


def _of_one(effects: Array, people: People) -> Array:
    """What is not known of these people adds the same to each: (d, d)."""
    covariance: Array = spread_of_the_unknown(effects, people.take(np.arange(1)))[0]
    return covariance


def _mark_what_cannot_be_done(found: Estimates, cannot: BoolArray) -> None:
    """Bring the curves of which an athlete could do not one repetition, (n, c), below one a minute."""
    for c in np.flatnonzero(cannot.any(0)):
        rows, own = np.flatnonzero(cannot[:, c]), slice(OF_CURVE * c, OF_CURVE * c + OF_CURVE)
        above = log_power(MINUTE_S, found.curve_mean[rows, c]) - np.log(CANNOT_RATE)
        found.curve_mean[rows, c] -= np.maximum(above, 0.0)[:, None] * CURVE_SCALE
        found.curve_cov[rows, own] = 0.0
        found.curve_cov[rows, :, own] = 0.0
        found.curve_cov[rows, own, own] = CANNOT_SD**2 * np.eye(OF_CURVE)


def _in_order(library: Library, mean: Array, tested: BoolArray) -> Array:
    """The bests (n, g) with every untested rung between the tested ones of its ladder, at most the easier and at least
    the harder."""
    place = {movement: g for g, movement in enumerate(library.bests)}
    easier = easier_forms(library.movements, library.ladders)
    at_least, at_most = np.full(mean.shape, -np.inf), np.full(mean.shape, np.inf)
    for harder, forms in enumerate(easier):
        for form in forms:
            hard, easy = place[harder], place[form]
            at_most[:, hard] = np.where(tested[:, easy], np.minimum(at_most[:, hard], mean[:, easy]), at_most[:, hard])
            at_least[:, easy] = np.where(
                tested[:, hard], np.maximum(at_least[:, easy], mean[:, hard]), at_least[:, easy]
            )
    low, high = np.minimum(at_least, at_most), np.maximum(at_least, at_most)  # tests that contradict the ladder
    ordered: Array = np.where(tested, mean, np.clip(mean, low, high))
    return ordered


def _stacked(
    arrays: Mapping[Subject, Array] | Mapping[int, Array], subjects: tuple[Subject, ...] | tuple[int, ...], n: int
) -> Array:
    """Arrays (n, m) by subject as one, (n, subjects, m), filled up with NaN."""
    stacked = np.full((n, len(subjects), max((array.shape[1] for array in arrays.values()), default=0)), np.nan)
    for subject, array in arrays.items():
        stacked[:, subjects.index(subject), : array.shape[1]] = array
    return stacked
