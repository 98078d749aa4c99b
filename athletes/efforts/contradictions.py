"""Results that do not fit an athlete's other results: which to check, in words for staff. Nothing is changed by it."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

import numpy as np

from athletes.capacity import contradictions
from athletes.capacity.constants import ENGINES
from athletes.capacity.contradictions import Contradictions
from athletes.capacity.movements import paced_prior
from athletes.capacity.priors import engine_prior
from athletes.estimates.library import involvement_of
from athletes.estimates.observations import Observation, as_arrays, drift_sd, observations
from athletes.estimates.people import People, facts_of, known_of
from athletes.models import Athlete, Effort, Movement
from athletes.words import day, name_order, number, result_text

Own = dict[int, list[Observation]]  # the observations of one subject, by the athletes' rows


@dataclass(frozen=True)
class Check:
    """One effort to look at again, and why."""

    athlete: Athlete
    effort: Effort
    sentence: str


def results_to_check(athlete_ids: list[int], as_of: date) -> list[Check]:
    """Efforts that contradict others of the same athlete, by name. Nine queries at most, however many athletes."""
    people = known_of(athlete_ids)
    rows = {athlete.pk: row for row, athlete in enumerate(people.athletes)}
    subjects: dict[str | int, Own] = defaultdict(lambda: defaultdict(list))
    for seen in observations(list(rows), as_of):
        subjects[seen.engine or seen.movement_id][rows[seen.athlete_id]].append(seen)
    movements = Movement.objects.in_bulk([s for s in subjects if s not in ENGINES])
    found = []
    for subject, own in subjects.items():
        several = {row: efforts for row, efforts in own.items() if len(efforts) > 1}
        if several:
            judged = _judge(subject, several, people, as_of, movements)
            found += [
                (row, *odd) for row, odd in zip(several, _odd(judged, list(several.values())), strict=True) if odd
            ]
    return _in_words(people, found)


def _judge(subject: str | int, own: Own, people: People, as_of: date, movements: dict[int, Movement]) -> Contradictions:
    """`Contradictions` of one engine or movement, for the athletes of `own` in its order."""
    at, movement = list(own), None if isinstance(subject, str) else movements[subject]
    value, duration, sd_log = as_arrays(list(own.values()), as_of, drift_sd(movement))
    facts = facts_of([people.athletes[row] for row in at], as_of)
    if movement is None:
        prior = engine_prior(subject, facts, people.taught.centre)
        return contradictions.in_efforts(value, duration, sd_log, people.engine_mean[subject][at], *prior)
    if movement.paced:
        prior = paced_prior(people.taught.movement(movement, involvement_of(movement)), facts)
        mean, _ = people.paced(movement, involvement_of(movement))
        shown = np.where(value > 0, value, np.nan)  # none at all contradicts nothing
        return contradictions.in_efforts(shown, duration, sd_log, mean[at], *prior)
    mean, _ = people.movement(movement, involvement_of(movement))
    return contradictions.in_trials(value, sd_log, mean[at])


def _odd(judged: Contradictions, efforts: list[list[Observation]]) -> list[tuple[int, float, int | None] | None]:
    """For each athlete the effort to check, by how many SDs it is off, and the effort beside it; None: all is well."""
    return [
        (own[effort].effort_id, float(sds), own[partner].effort_id if partner >= 0 else None) if effort >= 0 else None
        for own, effort, sds, partner in zip(efforts, judged.effort, judged.sds, judged.partner, strict=True)
    ]


def _in_words(people: People, found: list[tuple[int, int, float, int | None]]) -> list[Check]:
    ids = {effort for _, effort, _, _ in found} | {partner for *_, partner in found if partner}
    efforts = Effort.objects.select_related("benchmark").in_bulk(ids)
    checks = [
        Check(people.athletes[row], efforts[effort], sentence(efforts[effort], sds, efforts.get(partner)))
        for row, effort, sds, partner in found
    ]
    return sorted(checks, key=lambda check: (name_order(check.athlete.name), check.athlete.pk, check.effort.pk))


def sentence(effort: Effort, sds: float, partner: Effort | None) -> str:
    """Which effort to check, how far off it is, and against what."""
    off = f"{number(abs(sds))} SD {'better' if sds > 0 else 'weaker'}"
    against = "than the other results say"
    if partner is not None:
        against = f"than goes with {_named(partner)}: nobody holds more power for longer"
    return f"Check {_named(effort)}: it is {off} {against}."


def _named(effort: Effort) -> str:
    result = result_text(effort.benchmark.measure, effort.value, effort.repetitions)
    return f"{effort.benchmark}, {result}, of {day(effort.performed_on)}"
