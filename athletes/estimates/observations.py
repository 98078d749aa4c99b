"""Standing efforts as the estimates need them: power and duration, or a best in repetitions, seconds or kilograms."""

import logging
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from athletes.capacity import observations as reduce
from athletes.capacity.logged import AGE_LIMIT_DAYS, logged_sd, shared_bias_sd
from athletes.capacity.observations import effort_sd
from athletes.capacity.plausibility import Doubt, doubt_effort, doubt_one_rep_max, doubt_repetitions
from athletes.capacity.strength import one_rep_max
from athletes.models import Benchmark, Effort, Evidence, Movement

logger = logging.getLogger(__name__)

Measure = Benchmark.Measure
# Newest efforts per athlete and engine or movement: older ones weigh next to nothing (see effort_sd).
MOST_EFFORTS = 40


@dataclass(frozen=True)
class Observation:
    """One effort: `value` is watts (m/s in runs), repetitions, seconds of a hold, or a one-repetition maximum in kg.

    What a logged session says has no `effort_id`, and the SD of its logarithm on its own day instead.
    """

    effort_id: int | None
    athlete_id: int
    engine: str
    movement_id: int
    value: float
    duration_s: float | None
    performed_on: date
    sd_log: float | None = None


def observations(athlete_ids: list[int], as_of: date) -> Iterator[Observation]:
    """Observations of these athletes up to `as_of`, newest first; two queries."""
    benchmarks = Benchmark.objects.select_related("movement__machine_type").in_bulk()  # a few, that all efforts share
    efforts = Effort.objects.standing().filter(athlete_id__in=athlete_ids, performed_on__lte=as_of)
    rows = efforts.order_by("-performed_on", "-pk").values_list(
        "pk", "athlete_id", "benchmark_id", "value", "repetitions", "fixed", "performed_on"
    )
    taken = Counter()
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
            value, duration = reduced(benchmark, value, repetitions, fixed)
        except ValueError:  # kept before its machine's calorie scale changed: it must not stop the others
            logger.warning("effort %d no longer converts to a power; left out", pk)
            continue
        if impossible(movement, value):
            continue  # kept because somebody said so; no number may rest on it
        yield Observation(pk, athlete_id, movement.engine, movement.pk, value, duration, performed_on)


def can_be(benchmark: Benchmark, value: float, repetitions: int | None, fixed: float | None) -> bool:
    """Whether a result lies within what people can do: what does not is kept on request, and is nobody's best."""
    try:
        reduced_value, _ = reduced(benchmark, value, repetitions, fixed)
    except ValueError:
        return False
    return not impossible(benchmark.movement, reduced_value)


def impossible(movement: Movement, value: float) -> bool:
    """Whether a reduced result lies outside what people can do (holds have no such bound)."""
    if movement.engine:
        return bool(doubt_effort(movement.engine, value, np.inf) == Doubt.IMPOSSIBLE)
    judges = {Movement.Kind.REPETITIONS: doubt_repetitions, Movement.Kind.LOADED: doubt_one_rep_max}
    judge = judges.get(movement.kind)
    return judge is not None and bool(judge(value) == Doubt.IMPOSSIBLE)


def as_arrays(
    efforts: list[list[Observation]], as_of: date, trial_sd: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Values, durations and SDs of the logarithm, (n, m) each, from n lists: NaN where one is shorter than the longest.

    `trial_sd` is the SD of an effort made on the day `as_of`; logged sessions bring their own, and age faster.
    """
    shape = (len(efforts), max((len(own) for own in efforts), default=0))
    value, duration, age, logged = (np.full(shape, np.nan) for _ in range(4))
    for row, own in enumerate(efforts):
        value[row, : len(own)] = [o.value for o in own]
        duration[row, : len(own)] = [np.nan if o.duration_s is None else o.duration_s for o in own]
        age[row, : len(own)] = [(as_of - o.performed_on).days for o in own]
        logged[row, : len(own)] = [np.nan if o.sd_log is None else o.sd_log for o in own]
    age = np.nan_to_num(age)
    of_logs = shared_bias_sd(logged_sd(logged, age))
    return value, duration, np.where(np.isnan(logged), effort_sd(trial_sd, age), of_logs)


def reduced(
    benchmark: Benchmark, value: float, repetitions: int | None = None, fixed: float | None = None
) -> tuple[float, float | None]:
    """A result of `benchmark` as (value, duration) of an Observation; `benchmark.movement.machine_type` is read.

    ValueError, in words for staff, for a result that no power can be made of.
    """
    movement, fixed = benchmark.movement, benchmark.fixed if fixed is None else fixed
    if not movement.engine:
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


# Newest logs per athlete and engine or movement: their errors go together, so more of them say hardly more.
MOST_LOGS = 24


def logged_observations(athlete_ids: list[int], as_of: date) -> Iterator[Observation]:
    """Observations from the logs of these athletes up to `as_of`, newest first; one query."""
    since = as_of - timedelta(days=AGE_LIMIT_DAYS)
    rows = Evidence.objects.filter(athlete_id__in=athlete_ids, performed_on__range=(since, as_of))
    columns = ("athlete_id", "engine", "movement_id", "value", "duration_s", "performed_on", "sd_log")
    taken = Counter()
    for row in rows.order_by("-performed_on", "-pk").values_list(*columns, named=True).iterator(chunk_size=5000):
        subject = (row.athlete_id, row.engine or row.movement_id)
        taken[subject] += 1
        if taken[subject] <= MOST_LOGS:
            yield Observation(effort_id=None, **row._asdict())
