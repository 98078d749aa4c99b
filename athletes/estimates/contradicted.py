"""Efforts that do not fit an athlete's other efforts: which, by how much, and beside which."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np

from athletes.capacity import contradictions
from athletes.capacity.arrays import Array
from athletes.capacity.constants import ENGINES
from athletes.capacity.contradictions import Contradictions
from athletes.capacity.movements import CURVE_SCALE, paced_prior
from athletes.capacity.priors import engine_prior
from athletes.estimates.library import Learnt, involvement_of
from athletes.estimates.observations import Observation, as_arrays, drift_sd, observations
from athletes.estimates.people import Facts, facts_of, known_of
from athletes.models import Athlete, Movement

Own = dict[str | int, list[Observation]]  # of one athlete, by what they are of: an engine, or the id of a movement


@dataclass(frozen=True)
class Contradicted:
    """An effort to look at again (its id): by how many SDs it is too good (above 0) or too weak, and beside which
    other effort it cannot stand, None where it is at odds with all of them together."""

    athlete: Athlete
    effort: int
    sds: float
    beside: int | None


def contradicted(athlete_ids: Iterable[int], as_of: date) -> list[Contradicted]:
    """Of each engine and movement of these athletes the effort that fits least, where one does not fit. Nine queries
    at most, however many athletes."""
    people = known_of(athlete_ids)
    seen: dict[int, Own] = {athlete.pk: defaultdict(list) for athlete in people.athletes}
    for one in observations(list(seen), as_of):
        seen[one.athlete_id][one.subject].append(one)
    subjects = {subject for own in seen.values() for subject in own}
    movements = Movement.objects.in_bulk([subject for subject in subjects if subject not in ENGINES])

    def mean(subject: str | int) -> Array:
        moved = people.moved_by_logs(subject)  # efforts are held against efforts alone
        if isinstance(subject, str):
            return people.engine_mean[subject] - moved[:, None] * CURVE_SCALE
        movement, involvement = movements[subject], involvement_of(movements[subject])
        if movement.paced:
            return people.paced(movement, involvement)[0] - moved[:, None] * CURVE_SCALE
        return people.movement(movement, involvement)[0] - moved

    return contradicted_among(people.athletes, list(seen.values()), mean, movements, people.taught, as_of)


def contradicted_among(
    athletes: list[Athlete],
    seen: list[Own],
    mean: Callable[[str | int], Array],
    movements: Mapping[int, Movement],
    taught: Learnt,
    as_of: date,
) -> list[Contradicted]:
    """The same of what is `seen` of each athlete, with estimates that are at hand: `mean` gives those of an engine or a
    movement, (n, 3) or (n,). No query."""
    found = []
    for subject in {subject: None for own in seen for subject in own}:
        efforts = [[one for one in own.get(subject, ()) if one.effort_id is not None] for own in seen]
        rows = [row for row, own in enumerate(efforts) if len(own) > 1]
        if rows:
            several = [efforts[row] for row in rows]
            movement = None if isinstance(subject, str) else movements[subject]
            facts = facts_of([athletes[row] for row in rows], as_of)
            judged = _judge(subject, movement, several, mean(subject)[rows], facts, taught, as_of)
            for row, odd in zip(rows, _odd(judged, several), strict=True):
                found += [Contradicted(athletes[row], *odd)] if odd else []
    return found


def _judge(
    subject: str | int,
    movement: Movement | None,
    efforts: list[list[Observation]],
    mean: Array,
    facts: Facts,
    taught: Learnt,
    as_of: date,
) -> Contradictions:
    """`Contradictions` of one engine or movement, for some athletes."""
    value, duration, sd_log = as_arrays(efforts, as_of, drift_sd(movement))
    if movement is None:
        return contradictions.in_efforts(
            value, duration, sd_log, mean, *engine_prior(str(subject), facts, taught.centre)
        )
    if movement.paced:
        prior = paced_prior(taught.movement(movement, involvement_of(movement)), facts)
        shown = np.where(value > 0, value, np.nan)  # none at all contradicts nothing
        return contradictions.in_efforts(shown, duration, sd_log, mean, *prior)
    return contradictions.in_trials(value, sd_log, mean)


def _odd(judged: Contradictions, efforts: list[list[Observation]]) -> list[tuple[int, float, int | None] | None]:
    """For each athlete the effort to check, by how many SDs it is off, and the effort beside it; None: all is well."""
    return [
        (own[effort].effort_id, float(sds), own[partner].effort_id if partner >= 0 else None) if effort >= 0 else None
        for own, effort, sds, partner in zip(efforts, judged.effort, judged.sds, judged.partner, strict=True)
    ]
