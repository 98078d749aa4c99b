"""Standing efforts as the estimates need them: power and duration, or a best in repetitions, seconds or kilograms."""

import logging
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np

from athletes.capacity import observations as reduce
from athletes.capacity.arrays import Array
from athletes.capacity.constants import (
    ENGINE_DRIFT_SD,
    LOAD_SET_TRIAL_SD,
    LOAD_TRIAL_SD,
    ONE_REP_MAX_BOUNDS_KG,
    POWER_TRIAL_SD,
    RATE_BOUNDS_PER_MIN,
    REPETITIONS_BOUNDS,
    REPETITIONS_TRIAL_SD,
    STRENGTH_DRIFT_SD,
)
from athletes.capacity.plausibility import effort_bounds
from athletes.capacity.strength import one_rep_max
from athletes.models import Benchmark, Effort, Evidence, Movement

logger = logging.getLogger(__name__)

Measure = Benchmark.Measure
# Newest efforts per athlete and engine or movement; more of them would say hardly more.
MOST_EFFORTS = 40


@dataclass(frozen=True)
class Observation:
    """One effort, or what a logged session measured (without `effort_id`).

    `value` is watts (m/s in runs, repetitions a minute of paced movements) over `duration_s`, or repetitions, seconds
    of a hold, or a one-repetition maximum in kg; 0 where the athlete could not do one. `sd_log` is that of the trial on
    its own day.
    """

    effort_id: int | None
    athlete_id: int
    engine: str
    movement_id: int
    value: float
    duration_s: float | None
    performed_on: date
    sd_log: float

    @property
    def subject(self) -> str | int:
        """What it is of: an engine, or the id of a movement."""
        return self.engine or self.movement_id


def observations(athlete_ids: list[int], as_of: date) -> Iterator[Observation]:
    """Observations of these athletes up to `as_of`, newest first; two queries."""
    benchmarks = Benchmark.objects.select_related("movement__machine_type").in_bulk()  # a few, that all efforts share
    efforts = Effort.objects.standing().filter(athlete_id__in=athlete_ids, performed_on__lte=as_of)
    rows = efforts.order_by("-performed_on", "-pk").values_list(
        "pk", "athlete_id", "benchmark_id", "value", "repetitions", "fixed", "performed_on"
    )
    taken: Counter = Counter()
    for pk, athlete_id, benchmark_id, value, repetitions, fixed, performed_on in rows.iterator(chunk_size=5000):
        benchmark = benchmarks.get(benchmark_id)
        if benchmark is None:  # added in this moment; whoever added it works the estimates out again
            continue
        movement = benchmark.movement
        subject = (athlete_id, movement.engine or movement.pk)
        taken[subject] += 1
        if taken[subject] > MOST_EFFORTS:
            continue
        try:
            reduced_value, duration = reduced(benchmark, value, repetitions, fixed)
        except ValueError:  # kept before its machine's calorie scale changed: it must not stop the others
            logger.warning("effort %d no longer converts to a power; left out", pk)
            continue
        if impossible(movement, reduced_value):
            continue  # kept because somebody said so; no number may rest on it
        sd = trial_sd(benchmark, repetitions)
        yield Observation(pk, athlete_id, movement.engine, movement.pk, reduced_value, duration, performed_on, sd)


def measured_in_sessions(athlete_ids: list[int], as_of: date) -> Iterator[Observation]:
    """What logged sessions of these athletes measured up to `as_of`, newest first; one query."""
    rows = Evidence.objects.filter(athlete_id__in=athlete_ids, performed_on__lte=as_of, value__isnull=False)
    columns = ("athlete_id", "engine", "movement_id", "value", "duration_s", "performed_on", "sd_log")
    read = rows.order_by("-performed_on", "-pk").values_list("movement__paced", *columns)
    for paced, *values in read.iterator(chunk_size=5000):
        seen = Observation(effort_id=None, **dict(zip(columns, values, strict=True)))
        if (seen.duration_s is not None) == bool(
            seen.engine or paced
        ):  # else measured before it became paced, or after
            yield seen


def trial_sd(benchmark: Benchmark, repetitions: int | None = None) -> float:
    """SD of the logarithm of a trial: of power on machines and runs, else of what is counted or lifted."""
    if benchmark.movement.engine:
        return POWER_TRIAL_SD
    if benchmark.measure == Measure.LIFT:
        return LOAD_TRIAL_SD if repetitions == 1 else LOAD_SET_TRIAL_SD
    if benchmark.movement.paced and benchmark.measure == Measure.REPETITIONS:
        return reduce.UNBROKEN_RATE_SD
    return REPETITIONS_TRIAL_SD


def drift_sd(movement: Movement | None) -> float:
    """What an athlete may have changed since, in a year or more; None for an engine."""
    return ENGINE_DRIFT_SD if movement is None or movement.paced else STRENGTH_DRIFT_SD


def can_be(benchmark: Benchmark, value: float, repetitions: int | None, fixed: float | None) -> bool:
    """Whether a result lies within what people can do: what does not is kept on request, and is nobody's best."""
    try:
        reduced_value, _ = reduced(benchmark, value, repetitions, fixed)
    except ValueError:
        return False
    return not impossible(benchmark.movement, reduced_value)


def impossible(movement: Movement, value: float) -> bool:
    """Whether a reduced result lies outside what people can do."""
    low, high = _bounds(movement)
    return not low <= value <= high


def _bounds(movement: Movement) -> tuple[float, float]:
    if movement.engine:
        return effort_bounds(movement.engine)
    if movement.paced:
        return RATE_BOUNDS_PER_MIN
    bounds = {Movement.Kind.REPETITIONS: REPETITIONS_BOUNDS, Movement.Kind.LOADED: ONE_REP_MAX_BOUNDS_KG}
    return bounds.get(movement.kind, (0.0, np.inf))  # a hold may be of any length


def as_arrays(efforts: list[list[Observation]], as_of: date, drift: float) -> tuple[Array, Array, Array]:
    """Values, durations and SDs of the logarithm, (n, m) each, from n lists: NaN where one is shorter than the longest.

    An old effort counts for less: `drift` is the SD that is added after a year.
    """
    shape = (len(efforts), max((len(own) for own in efforts), default=0))
    value, duration, age, sd = (np.full(shape, np.nan) for _ in range(4))
    for row, own in enumerate(efforts):
        value[row, : len(own)] = [o.value for o in own]
        duration[row, : len(own)] = [np.nan if o.duration_s is None else o.duration_s for o in own]
        age[row, : len(own)] = [(as_of - o.performed_on).days for o in own]
        sd[row, : len(own)] = [o.sd_log for o in own]
    return value, duration, reduce.effort_sd(sd, age, drift)


def reduced(
    benchmark: Benchmark, value: float, repetitions: int | None = None, fixed: float | None = None
) -> tuple[float, float | None]:
    """A result of `benchmark` as (value, duration) of an Observation; `benchmark.movement.machine_type` is read.

    ValueError, in words for staff, for a result that no power can be made of.
    """
    movement, fixed = benchmark.movement, benchmark.fixed if fixed is None else fixed
    if movement.paced:
        return _rate(benchmark, value, fixed)
    if not movement.engine:
        if benchmark.measure in Benchmark.PACED_MEASURES:
            raise ValueError(f"{movement} is not paced, so {benchmark} says nothing of unbroken repetitions.")
        lift = benchmark.measure == Measure.LIFT
        return (float(one_rep_max(value, repetitions)) if lift else value), None
    if fixed is None:
        raise ValueError(f"{benchmark} does not say what is fixed, so no power can be made of a result.")
    amount, seconds = (fixed, value) if benchmark.faster_is_better else (value, fixed)
    if benchmark.measure in (Measure.TIME_FOR_CALORIES, Measure.CALORIES_IN_TIME):
        monitor = movement.machine_type
        scale = (monitor.kcal_base, monitor.kcal_slope) if monitor else ()
        return float(reduce.power_from_kcal(movement.engine, amount, seconds, *scale)), seconds
    return float(reduce.power_from_distance(movement.engine, amount, seconds)), seconds


def _rate(benchmark: Benchmark, value: float, fixed: float | None) -> tuple[float, float]:
    """Repetitions a minute of a paced movement over their duration [s]."""
    if benchmark.measure == Measure.REPETITIONS:
        rate, seconds = reduce.rate_of_unbroken(value, benchmark.movement.seconds_per_repetition)
    elif fixed is None:
        raise ValueError(f"{benchmark} does not say what is fixed, so no pace can be made of a result.")
    else:
        rate, seconds = reduce.rate_in_time(*((fixed, value) if benchmark.faster_is_better else (value, fixed)))
    return float(rate), float(seconds)
