"""From efforts and logs to stored estimates. An estimate can be made again at any time from these alone."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date

import numpy as np
from django.db import transaction
from django.db.models import Q

from athletes.capacity import repetitions
from athletes.capacity.constants import (
    ENGINES,
    LOAD_TRIAL_SD,
    METHOD_VERSION,
    PATTERNS,
    POWER_TRIAL_SD,
    REPETITIONS_TRIAL_SD,
)
from athletes.capacity.engines import Efforts, estimate_engines
from athletes.capacity.kinship import engine_correlation, movement_correlation
from athletes.capacity.priors import Centre, movement_prior
from athletes.estimates.observations import Observation, as_arrays, logged_observations, observations
from athletes.estimates.people import engine_centre, sex_and_mass
from athletes.gym.read import today
from athletes.locks import athletes_lock
from athletes.models import Athlete, Estimate, Movement

BATCH = 1000
# Below this correlation an effort says nothing worth keeping of another movement: the SD falls by half a percent.
LEAST_CORRELATION = 0.1

# Efforts of one athlete by what they are of: the place of an engine or a movement in its list.
Own = dict[int, list[Observation]]


def estimates_refresh(*, athletes: Iterable[int] | None = None, as_of: date | None = None) -> int:
    """Make the estimates of these athletes (or of all) anew as of a day (today); the number of athletes done."""
    as_of = as_of or today()
    ids = list(Athlete.objects.values_list("pk", flat=True)) if athletes is None else list(athletes)
    centre = engine_centre()
    for start in range(0, len(ids), BATCH):
        _refresh(ids[start : start + BATCH], as_of, centre)
    return len(ids)


@transaction.atomic
def _refresh(athlete_ids: list[int], as_of: date, centre: Centre) -> None:
    athletes_lock(athlete_ids)  # an effort kept meanwhile must not be forgotten
    seen = [*observations(athlete_ids, as_of), *logged_observations(athlete_ids, as_of)]
    rows = _engine_rows([o for o in seen if o.engine], as_of, centre)
    rows += _movement_rows([o for o in seen if not o.engine], as_of)
    Estimate.objects.filter(athlete_id__in=athlete_ids).delete()
    Estimate.objects.bulk_create(rows)


def _engine_rows(seen: list[Observation], as_of: date, centre: Centre) -> list[Estimate]:
    """All engines of everyone with an effort, or a log, on one of them."""
    by_athlete = _by_athlete(seen, {engine: e for e, engine in enumerate(ENGINES)})
    people = Athlete.objects.in_bulk(by_athlete)
    efforts = {
        engine: Efforts(*as_arrays([own.get(e, []) for own in by_athlete.values()], as_of, POWER_TRIAL_SD))
        for e, engine in enumerate(ENGINES)
    }
    means, covariances = estimate_engines(efforts, *sex_and_mass([people[i] for i in by_athlete]), centre)
    means, covariances = (
        {engine: array.tolist() for engine, array in numbers.items()} for numbers in (means, covariances)
    )
    closeness = engine_correlation()[0]  # of critical power, which decides most of what is asked for
    return [
        _estimate(i, rests_on(own, closeness[e]), as_of, means[engine][row], covariances[engine][row], engine=engine)
        for row, (i, own) in enumerate(by_athlete.items())
        for e, engine in enumerate(ENGINES)
    ]


def _movement_rows(seen: list[Observation], as_of: date) -> list[Estimate]:
    """The movements that someone's efforts say something of, kind by kind."""
    current = Movement.objects.filter(Q(archived=False) | Q(pk__in={o.movement_id for o in seen}))
    by_kind = defaultdict(list)
    for movement in current.exclude(kind=Movement.Kind.ENGINE).order_by("pk"):
        by_kind[movement.kind].append(movement)
    return [row for movements in by_kind.values() for row in _rows_of_a_kind(movements, seen, as_of)]


def _rows_of_a_kind(movements: list[Movement], seen: list[Observation], as_of: date) -> list[Estimate]:
    """Repetitions inform repetitions, lifts lifts, and holds holds."""
    place = {movement.pk: g for g, movement in enumerate(movements)}
    by_athlete = _by_athlete([o for o in seen if o.movement_id in place], place)
    if not by_athlete:
        return []
    closeness = movement_correlation([[m.involvement.get(p, 0.0) for p in PATTERNS] for m in movements])
    means, variances = _estimated(movements, list(by_athlete.values()), closeness, as_of)
    return [
        _estimate(
            i, rests_on(own, closeness[g]), as_of, [means[row][g]], [[variances[row][g]]], movement_id=movement.pk
        )
        for row, (i, own) in enumerate(by_athlete.items())
        for g, movement in enumerate(movements)
        if max(closeness[g][place] for place in own) >= LEAST_CORRELATION
    ]


def _estimated(movements: list[Movement], by_athlete: list[Own], closeness: np.ndarray, as_of: date):
    """Means and variances of the log maxima: two lists of an athlete's list of movements."""
    trial_sd = LOAD_TRIAL_SD if movements[0].kind == Movement.Kind.LOADED else REPETITIONS_TRIAL_SD
    lists = [own.get(g, []) for own in by_athlete for g in range(len(movements))]
    shape = (len(by_athlete), len(movements), -1)
    best, _, sd_log = (array.reshape(shape) for array in as_arrays(lists, as_of, trial_sd))
    first_guess = [m.typical_best for m in movements], [m.typical_spread for m in movements]
    mean, sd = movement_prior(*first_guess, len(movements))
    means, sds = repetitions.estimate_together(best, sd_log, mean, (closeness * np.outer(sd, sd))[None])
    return means.tolist(), (sds**2).tolist()


def rests_on(own: Own, closeness: np.ndarray) -> list[Observation]:
    """The efforts that an estimate mainly rests on, newest first: its own, or those of what is nearest of the tested.

    `closeness` holds the correlations with every engine or movement, itself included. Logged sessions are not named.
    """
    tested = {place: [o for o in seen if o.effort_id is not None] for place, seen in own.items()}
    nearest = max((closeness[place] for place, efforts in tested.items() if efforts), default=0.0)
    if nearest < LEAST_CORRELATION:
        return []
    efforts = [effort for place, efforts in tested.items() if closeness[place] == nearest for effort in efforts]
    return sorted(efforts, key=lambda effort: (effort.performed_on, effort.effort_id), reverse=True)


def _by_athlete(seen: list[Observation], place: dict[str | int, int]) -> dict[int, Own]:
    by_athlete = defaultdict(lambda: defaultdict(list))
    for observation in seen:
        by_athlete[observation.athlete_id][place[observation.engine or observation.movement_id]].append(observation)
    return by_athlete


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
