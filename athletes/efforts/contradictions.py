"""Results that do not fit an athlete's other results: which to check, in words for staff. Nothing is changed by it."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

import numpy as np

from athletes.capacity import contradictions
from athletes.capacity.constants import ENGINES, LOAD_TRIAL_SD, POWER_TRIAL_SD, REPETITIONS_TRIAL_SD
from athletes.capacity.contradictions import Contradictions
from athletes.capacity.priors import engine_prior
from athletes.estimates.observations import Observation, as_arrays, observations
from athletes.estimates.people import People, engine_centre, load_people, sex_and_mass
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
    """Efforts that contradict others of the same athlete, by name. Eleven queries at most, however many athletes."""
    people = load_people(athlete_ids)
    rows = {athlete.pk: row for row, athlete in enumerate(people.athletes)}
    subjects: dict[str | int, Own] = defaultdict(lambda: defaultdict(list))
    for seen in observations(list(rows), as_of):
        subjects[seen.engine or seen.movement_id][rows[seen.athlete_id]].append(seen)
    kinds = dict(Movement.objects.filter(pk__in=[s for s in subjects if s not in ENGINES]).values_list("pk", "kind"))
    found = []
    for subject, own in subjects.items():
        several = {row: efforts for row, efforts in own.items() if len(efforts) > 1}
        if several:
            judged = _judge(subject, several, people, as_of, kinds)
            found += [
                (row, *odd) for row, odd in zip(several, _odd(judged, list(several.values())), strict=True) if odd
            ]
    return _in_words(people, found)


def _judge(subject, own: Own, people: People, as_of: date, kinds: dict[int, str]) -> Contradictions:
    """`Contradictions` of one engine or movement, for the athletes of `own` in its order."""
    at = list(own)
    if subject in ENGINES:
        power, duration, sd_log = as_arrays(list(own.values()), as_of, POWER_TRIAL_SD)
        prior = engine_prior(subject, *sex_and_mass([people.athletes[row] for row in at]), engine_centre())
        return contradictions.in_efforts(power, duration, sd_log, people.engine_mean[subject][at], *prior)
    trial_sd = LOAD_TRIAL_SD if kinds[subject] == Movement.Kind.LOADED else REPETITIONS_TRIAL_SD
    best, _, sd_log = as_arrays(list(own.values()), as_of, trial_sd)
    means = people.movement_estimates.get(subject, {})
    mean = np.array([means[row][0] if row in means else np.nan for row in at])
    return contradictions.in_trials(best, sd_log, mean)


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
