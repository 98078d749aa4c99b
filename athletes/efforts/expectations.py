"""What a number of athletes may be expected to do in a benchmark, and how odd a result is beside that.

The one judge of results: of what is typed in, of a cell of a test day's grid, and of the rows of an import.
"""

from contextlib import suppress
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from athletes.capacity import best, plausibility
from athletes.capacity.arrays import Array, IntArray
from athletes.capacity.movements import CURVE_SCALE
from athletes.capacity.power_duration import log_power_gradient
from athletes.estimates.library import involvement_of
from athletes.estimates.observations import reduced, trial_sd
from athletes.estimates.people import People
from athletes.models import Benchmark

Measure = Benchmark.Measure
# A set that says most is found after three rising ones, with rests (common practice).
LIFT_S = 480.0
MINUTE_S = 60.0
TENTH_S = 0.1
BAR_STEP_KG = 2.5  # the smallest usual step of a barbell (common practice)
LIKE_A_RUN = "run"  # a paced movement: repetitions = rate × time, as metres = speed × time
MOST_UNBROKEN_S = 1800.0  # who can go on at a movement's usual pace for ever is expected to stop by then


@dataclass(frozen=True, eq=False)
class Expected:
    """By athlete, (n,): the most probable result in the benchmark's unit (a lift: once), the SD of its logarithm with
    the noise of a trial in it, and the seconds it takes."""

    value: Array
    sd_log: Array
    seconds: Array


def of_people(benchmark: Benchmark, people: People) -> tuple[Array, Array]:
    """The estimates of the benchmark's engine or movement, as far as a result of today is predicted from them: means
    (n, p) and covariances (n, p, p), p 3 or 1. Those of curves have in them what may have changed since in all efforts
    alike; what is counted or lifted is shown in steps so coarse that it would only let slips through.

    What logs have added since the last test is left out: it makes doses right, whatever the reason, a habit of rating
    high among them, and a test is predicted better without it.
    """
    movement = benchmark.movement
    moved = people.moved_by_logs(movement.engine or movement.pk)[:, None]
    if not (movement.engine or movement.paced):
        mean, sd = people.movement(movement, involvement_of(movement))
        return mean[:, None] - moved, sd[:, None, None] ** 2
    if movement.engine:
        mean, covariance = people.engine_mean[movement.engine], people.engine_cov[movement.engine]
    else:
        mean, covariance = people.paced(movement, involvement_of(movement))
    changed = people.drift_sd(movement.engine or movement.pk)[:, None, None] ** 2
    return mean - moved * CURVE_SCALE, covariance + changed * np.outer(CURVE_SCALE, CURVE_SCALE)


def expected(benchmark: Benchmark, mean: Array, covariance: Array) -> Expected:
    """Of athletes with estimates as `of_people` gives them."""
    noise = trial_sd(benchmark)
    if mean.shape[1] == 1:
        value = np.exp(mean[:, 0])
        seconds = {Measure.LIFT: np.full(len(value), LIFT_S), Measure.HOLD: value}
        counted = value * benchmark.movement.seconds_per_repetition
        sd = np.hypot(np.sqrt(covariance[:, 0, 0]), noise)
        return Expected(value, sd, seconds.get(benchmark.measure, counted))
    seconds = _seconds(benchmark, mean)
    # The noise of a trial is one of power: added along a direction in which the power of this duration rises.
    noisy = covariance + noise**2 * _power_direction(mean, seconds)
    return Expected(*_on_curve(benchmark, mean, noisy, seconds), seconds)


def resolution(benchmark: Benchmark, value: float) -> float:
    """The step in which results are shown, in the benchmark's unit: whole calories, metres and repetitions; tenths of a
    second, or whole ones where no tenth was typed; what is put on a bar."""
    if benchmark.value_unit == "s":
        return TENTH_S if value % 1.0 else 1.0
    return BAR_STEP_KG if benchmark.measure == Measure.LIFT else 1.0


def away(
    benchmark: Benchmark, values: list[float], repetitions: list[int | None], mean: Array, covariance: Array
) -> Array:
    """How many SDs above (+) or below (−) what is expected results are, (n,), given the benefit of the step in which
    they are shown. Results as typed, one of each athlete; they must reduce (`observations.reduced`)."""
    shown = [_steps(benchmark, value, times) for value, times in zip(values, repetitions, strict=True)]
    value = np.array([[near for near, _ in steps] for steps in shown], float)
    seconds = np.array([[np.inf if lasts is None else lasts for _, lasts in steps] for steps in shown], float)
    steps = [surprise(benchmark, value[:, n], seconds[:, n], mean, covariance) for n in range(3)]
    return plausibility.nearest(np.stack(steps, -1))


def _steps(benchmark: Benchmark, value: float, times: int | None) -> list[tuple[float, float | None]]:
    """A result reduced, between those one step below and one above; in place of one that cannot be, itself."""
    step, itself = resolution(benchmark, value), reduced(benchmark, value, times)
    steps = [itself, itself, itself]
    for place, near in ((0, max(value - step, value / 2)), (2, value + step)):
        with suppress(ValueError):
            steps[place] = reduced(benchmark, near, times)
    return steps


def surprise(benchmark: Benchmark, value: ArrayLike, duration: ArrayLike, mean: Array, covariance: Array) -> Array:
    """How many SDs above (+) or below (−) what is expected a reduced result is, by athlete, (n,)."""
    noise = trial_sd(benchmark)
    if mean.shape[1] == 3:
        rate = np.where(np.asarray(value, float) == 0, plausibility.JUST_BELOW_ONE, value)
        return plausibility.effort_surprise(rate, duration, noise, mean, covariance)
    return plausibility.surprise(value, mean[:, 0], np.sqrt(covariance[:, 0, 0]), noise)


def doubts(benchmark: Benchmark, value: ArrayLike, duration: ArrayLike, surprise_sd: ArrayLike = 0.0) -> IntArray:
    """The `plausibility.Doubt` codes of reduced results, (n,)."""
    movement = benchmark.movement
    if movement.engine:
        return plausibility.doubt_effort(movement.engine, value, duration, surprise_sd)
    if movement.paced:
        return plausibility.doubt_rate(value, surprise_sd)
    if benchmark.measure == Measure.LIFT:
        return plausibility.doubt_one_rep_max(value, surprise_sd)
    # Holds are counted in seconds and may be long; the bound on repetitions does not apply to them.
    counted = np.ones_like(value, float) if benchmark.measure == Measure.HOLD else value
    return plausibility.doubt_repetitions(counted, surprise_sd)


def _on_curve(benchmark: Benchmark, theta: Array, noisy: Array, seconds: Array) -> tuple[Array, Array]:
    """Expected results and the SDs of their logarithms, (n,) each, where the capacity is a curve."""
    engine, fixed, scale = benchmark.movement.engine or LIKE_A_RUN, benchmark.fixed, _scale(benchmark)
    if benchmark.measure == Measure.TIME_FOR_DISTANCE:
        return seconds, best.best_time_for_distance_sd(engine, fixed, theta, noisy)
    if benchmark.measure == Measure.TIME_FOR_REPETITIONS:
        return seconds, best.best_time_for_distance_sd(engine, MINUTE_S * fixed, theta, noisy)
    if benchmark.measure == Measure.TIME_FOR_CALORIES:
        return seconds, best.best_time_for_kcal_sd(fixed, theta, noisy, *scale)
    if benchmark.measure == Measure.CALORIES_IN_TIME:
        return best.best_kcal(fixed, theta, *scale), best.best_kcal_sd(fixed, theta, noisy, *scale)
    per = 1.0 if benchmark.movement.engine else MINUTE_S
    value, sd = best.best_distance(engine, seconds, theta) / per, best.best_distance_sd(engine, seconds, theta, noisy)
    return value, sd


def _seconds(benchmark: Benchmark, theta: Array) -> Array:
    engine, fixed = benchmark.movement.engine or LIKE_A_RUN, benchmark.fixed
    if benchmark.measure == Measure.TIME_FOR_DISTANCE:
        return best.best_time_for_distance(engine, fixed, theta)
    if benchmark.measure == Measure.TIME_FOR_REPETITIONS:
        return best.best_time_for_distance(engine, MINUTE_S * fixed, theta)
    if benchmark.measure == Measure.TIME_FOR_CALORIES:
        return best.best_time_for_kcal(fixed, theta, *_scale(benchmark))
    if benchmark.measure == Measure.REPETITIONS:
        # Unbroken at the movement's usual pace: until the curve falls to it.
        critical, reserve, ramp = np.exp(theta).T
        above = MINUTE_S / benchmark.movement.seconds_per_repetition - critical
        with np.errstate(divide="ignore"):
            lasts = np.where(above > 0, reserve / np.where(above > 0, above, 1.0) - ramp, MOST_UNBROKEN_S)
        return np.clip(lasts, benchmark.movement.seconds_per_repetition, MOST_UNBROKEN_S)
    return np.full(len(theta), float(fixed))


def _power_direction(theta: Array, seconds: Array) -> Array:
    """Outer products (n, 3, 3) of a direction along which the log power of this duration rises by 1."""
    gradient = log_power_gradient(seconds, theta)
    along = gradient / (gradient**2).sum(-1, keepdims=True)
    return along[:, :, None] * along[:, None, :]


def _scale(benchmark: Benchmark) -> tuple[float, ...]:
    machine = benchmark.movement.machine_type
    return (machine.kcal_base, machine.kcal_slope) if machine else ()
