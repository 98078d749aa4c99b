"""What a number of athletes may be expected to do in a benchmark: result, spread, time it takes, and what it shows."""

from dataclasses import dataclass

import numpy as np

from athletes.capacity import best
from athletes.capacity.constants import LOAD_TRIAL_SD, POWER_TRIAL_SD, REPETITIONS_TRIAL_SD
from athletes.capacity.power_duration import log_power_gradient
from athletes.estimates.people import People
from athletes.models import Benchmark

Measure = Benchmark.Measure
# A set that says most is found after three rising ones, with rests (common practice).
LIFT_S = 480.0


def trial_sd(benchmark: Benchmark) -> float:
    """SD of the logarithm of a trial: of power on machines and runs, else of what is counted."""
    if benchmark.movement.engine:
        return POWER_TRIAL_SD
    return LOAD_TRIAL_SD if benchmark.measure == Measure.LIFT else REPETITIONS_TRIAL_SD


@dataclass(frozen=True, eq=False)
class Expected:
    """By athlete, (n,): the most probable result in the benchmark's unit (a lift: once), the SD of its logarithm with
    the noise of a trial in it, and the seconds it takes."""

    value: np.ndarray
    sd_log: np.ndarray
    seconds: np.ndarray


def expected(benchmark: Benchmark, mean: np.ndarray, covariance: np.ndarray) -> Expected:
    """Of athletes with estimates of the benchmark's engine, (n, 3) and (n, 3, 3), or movement, (n, 1) and (n, 1, 1)."""
    if benchmark.movement.engine:
        return _on_engine(benchmark, mean, covariance)
    value = np.exp(mean[:, 0])
    seconds = {Measure.LIFT: np.full(len(value), LIFT_S), Measure.HOLD: value}
    counted = value * benchmark.movement.seconds_per_repetition
    sd = np.hypot(np.sqrt(covariance[:, 0, 0]), trial_sd(benchmark))
    return Expected(value, sd, seconds.get(benchmark.measure, counted))


def of_people(benchmark: Benchmark, people: People) -> tuple[np.ndarray, np.ndarray]:
    """The estimates that `expected` takes, from what is stored of these people."""
    movement = benchmark.movement
    if movement.engine:
        return people.engine_mean[movement.engine], people.engine_cov[movement.engine]
    mean, sd = people.movement(movement.pk, movement.typical_best, movement.typical_spread)
    return mean[:, None], sd[:, None, None] ** 2


def shown_by(benchmark: Benchmark, mean: np.ndarray) -> np.ndarray:
    """Gradient (n, p) of the logarithm that a result shows, by the p parameters of `mean` (n, p)."""
    if not benchmark.movement.engine:
        return np.ones_like(mean)
    return log_power_gradient(_seconds(benchmark, mean), mean)


def _on_engine(benchmark: Benchmark, theta: np.ndarray, covariance: np.ndarray) -> Expected:
    engine, fixed, scale = benchmark.movement.engine, benchmark.fixed, _scale(benchmark)
    seconds = _seconds(benchmark, theta)
    # The noise of a trial is one of power: added along a direction in which the power of this duration rises.
    noisy = covariance + POWER_TRIAL_SD**2 * _power_direction(theta, seconds)
    if benchmark.measure == Measure.TIME_FOR_DISTANCE:
        return Expected(seconds, best.best_time_for_distance_sd(engine, fixed, theta, noisy), seconds)
    if benchmark.measure == Measure.TIME_FOR_CALORIES:
        return Expected(seconds, best.best_time_for_kcal_sd(fixed, theta, noisy, *scale), seconds)
    if benchmark.measure == Measure.DISTANCE_IN_TIME:
        value, sd = best.best_distance(engine, fixed, theta), best.best_distance_sd(engine, fixed, theta, noisy)
        return Expected(value, sd, seconds)
    return Expected(best.best_kcal(fixed, theta, *scale), best.best_kcal_sd(fixed, theta, noisy, *scale), seconds)


def _seconds(benchmark: Benchmark, theta: np.ndarray) -> np.ndarray:
    if benchmark.measure == Measure.TIME_FOR_DISTANCE:
        return best.best_time_for_distance(benchmark.movement.engine, benchmark.fixed, theta)
    if benchmark.measure == Measure.TIME_FOR_CALORIES:
        return best.best_time_for_kcal(benchmark.fixed, theta, *_scale(benchmark))
    return np.full(len(theta), float(benchmark.fixed))


def _power_direction(theta: np.ndarray, seconds: np.ndarray) -> np.ndarray:
    """Outer products (n, 3, 3) of a direction along which the log power of this duration rises by 1."""
    gradient = log_power_gradient(seconds, theta)
    along = gradient / (gradient**2).sum(-1, keepdims=True)
    return along[:, :, None] * along[:, None, :]


def _scale(benchmark: Benchmark) -> tuple[float, ...]:
    machine = benchmark.movement.machine_type
    return (machine.kcal_base, machine.kcal_slope) if machine else ()
