"""From efforts to stored estimates. An estimate can be made again at any time from the efforts alone."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date

import numpy as np
from django.db import transaction

from athletes.capacity import repetitions
from athletes.capacity.constants import (
    LOAD_TRIAL_SD,
    METHOD_VERSION,
    POWER_TRIAL_SD,
    REPETITIONS_TRIAL_SD,
)
from athletes.capacity.engines import Efforts, estimate_engines
from athletes.capacity.observations import effort_sd
from athletes.capacity.priors import movement_prior
from athletes.models import Athlete, Estimate, Movement
from athletes.selectors.gym import today
from athletes.selectors.observations import Observation, observations

BATCH = 1000


def estimates_refresh(*, athletes: Iterable[int] | None = None, as_of: date | None = None) -> int:
    """Make the estimates of these athletes (or of all) anew as of a day (today); the number of athletes done."""
    as_of = as_of or today()
    ids = list(Athlete.objects.values_list("pk", flat=True)) if athletes is None else list(athletes)
    for start in range(0, len(ids), BATCH):
        _refresh(ids[start : start + BATCH], as_of)
    return len(ids)


@transaction.atomic
def _refresh(athlete_ids: list[int], as_of: date) -> None:
    by_engine, by_movement = defaultdict(lambda: defaultdict(list)), defaultdict(lambda: defaultdict(list))
    for observation in observations(athlete_ids, as_of):
        group = by_engine[observation.engine] if observation.engine else by_movement[observation.movement_id]
        group[observation.athlete_id].append(observation)
    rows = _engine_rows(by_engine, as_of) + _movement_rows(by_movement, as_of)
    Estimate.objects.filter(athlete_id__in=athlete_ids).delete()
    Estimate.objects.bulk_create(rows)


def _engine_rows(by_engine: dict[str, dict[int, list[Observation]]], as_of: date) -> list[Estimate]:
    rows = []
    for engine, efforts in by_engine.items():
        people = Athlete.objects.in_bulk(efforts)
        ids = list(efforts)
        sex = np.array([people[i].sex for i in ids], dtype="U6")
        mass = np.array([np.nan if (m := people[i].body_mass_kg) is None else m for i in ids], float)
        power, duration, sd = _padded(efforts, as_of, POWER_TRIAL_SD)
        means, covariances = estimate_engines({engine: Efforts(power, duration, sd)}, sex, mass)
        for i, mean, covariance in zip(ids, means[engine], covariances[engine], strict=True):
            rows.append(_estimate(i, efforts[i], as_of, mean.tolist(), covariance.tolist(), engine=engine))
    return rows


def _movement_rows(by_movement: dict[int, dict[int, list[Observation]]], as_of: date) -> list[Estimate]:
    rows = []
    movements = Movement.objects.in_bulk(by_movement)
    for movement_id, efforts in by_movement.items():
        movement = movements[movement_id]
        trial_sd = LOAD_TRIAL_SD if movement.kind == Movement.Kind.LOADED else REPETITIONS_TRIAL_SD
        best, _, sd = _padded(efforts, as_of, trial_sd)
        prior = movement_prior(movement.typical_best, movement.typical_spread, len(efforts))
        means, sds = repetitions.estimate(best, sd, *prior)
        for i, mean, own_sd in zip(efforts, means.tolist(), sds.tolist(), strict=True):
            rows.append(_estimate(i, efforts[i], as_of, [mean], [[own_sd**2]], movement_id=movement_id))
    return rows


def _padded(efforts: dict[int, list[Observation]], as_of: date, trial_sd: float) -> tuple[np.ndarray, ...]:
    """Values, durations and SDs as arrays (n, m), NaN where an athlete has fewer efforts than the most."""
    shape = (len(efforts), max(len(own) for own in efforts.values()))
    value, duration, age = (np.full(shape, np.nan) for _ in range(3))
    for row, own in enumerate(efforts.values()):
        value[row, : len(own)] = [o.value for o in own]
        duration[row, : len(own)] = [np.nan if o.duration_s is None else o.duration_s for o in own]
        age[row, : len(own)] = [(as_of - o.performed_on).days for o in own]
    return value, duration, effort_sd(trial_sd, np.nan_to_num(age))


def _estimate(athlete_id: int, efforts: list[Observation], as_of: date, mean: list, covariance: list, **subject):
    return Estimate(
        athlete_id=athlete_id,
        mean=mean,
        covariance=covariance,
        efforts=[effort.effort_id for effort in efforts],
        as_of=as_of,
        method_version=METHOD_VERSION,
        **subject,
    )
