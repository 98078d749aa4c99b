"""All that the efforts of a number of athletes say, jointly: what one engine or movement would tell of another."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from athletes.capacity import joint, power_duration, repetitions
from athletes.capacity.constants import ENGINES, LOAD_TRIAL_SD, PATTERNS, POWER_TRIAL_SD, REPETITIONS_TRIAL_SD
from athletes.capacity.kinship import movement_correlation
from athletes.capacity.priors import alike, engines_prior, movement_prior
from athletes.estimates.observations import Observation, as_arrays, logged_observations, observations
from athletes.estimates.people import engine_centre, sex_and_mass
from athletes.models import Athlete, Movement

Subject = str | int  # an engine, or the id of a movement
OF_ENGINE = 3  # parameters


@dataclass(frozen=True, eq=False)
class Knowledge:
    """n athletes with D parameters each: `mean` (n, D), `covariance` (n, D, D), and where each subject begins.

    `last` holds by (row, subject) the day of the newest own benchmark effort.
    """

    athletes: list[Athlete]
    mean: np.ndarray
    covariance: np.ndarray
    place: dict[Subject, int]
    last: dict[tuple[int, Subject], date] = field(default_factory=dict)

    def own(self, subject: Subject) -> slice:
        """The parameters of a subject: three of an engine, one of a movement."""
        first = self.place[subject]
        return slice(first, first + (OF_ENGINE if isinstance(subject, str) else 1))


def load_knowledge(athletes: list[Athlete], as_of: date) -> Knowledge:
    """What is known of these athletes as of a day, worked out again from efforts and logs. Five queries."""
    ids = [athlete.pk for athlete in athletes]
    rows = {pk: row for row, pk in enumerate(ids)}
    seen = [*observations(ids, as_of), *logged_observations(ids, as_of)]
    by_subject: dict[Subject, list[list[Observation]]] = defaultdict(lambda: [[] for _ in ids])
    last = {}
    for observation in seen:
        subject, row = observation.engine or observation.movement_id, rows[observation.athlete_id]
        by_subject[subject][row].append(observation)
        if observation.effort_id is not None:
            last.setdefault((row, subject), observation.performed_on)
    movements = Movement.objects.filter(archived=False).exclude(kind=Movement.Kind.ENGINE).order_by("kind", "pk")
    parts, place = [_engines(athletes, by_subject, as_of)], {e: OF_ENGINE * i for i, e in enumerate(ENGINES)}
    by_kind = defaultdict(list)
    for movement in movements:
        place[movement.pk] = OF_ENGINE * len(ENGINES) + sum(map(len, by_kind.values()))
        by_kind[movement.kind].append(movement)
    parts += [_movements(own, by_subject, as_of) for own in by_kind.values()]
    mean = np.concatenate([mean for mean, _ in parts], 1)
    covariance = np.zeros((len(ids), mean.shape[1], mean.shape[1]))
    first = 0
    for own_mean, own in parts:
        after = first + own_mean.shape[1]
        covariance[:, first:after, first:after], first = own, after
    return Knowledge(athletes, mean, covariance, place, last)


def _engines(athletes: list[Athlete], by_subject: dict, as_of: date) -> tuple[np.ndarray, np.ndarray]:
    """Means (n, 12) and joint covariances (n, 12, 12) of all engines."""
    lists = [own for engine in ENGINES for own in by_subject[engine]]
    arrays = _stacked(lists, len(ENGINES), as_of, POWER_TRIAL_SD)
    sex, mass = sex_and_mass(athletes)
    prior_mean, prior_cov = engines_prior(sex, mass, engine_centre())
    theta = np.empty((len(athletes), len(ENGINES), OF_ENGINE))
    for rows in alike(sex, mass):
        own = (array[rows] for array in arrays)
        theta[rows], _ = power_duration.estimate_together(*own, prior_mean[rows], prior_cov[rows[:1]])
    covariance = joint.engines_covariance(*arrays, theta, prior_cov)
    return theta.reshape(len(athletes), -1), covariance


def _movements(movements: list[Movement], by_subject: dict, as_of: date) -> tuple[np.ndarray, np.ndarray]:
    """The same for the movements of one kind, (n, g) and (n, g, g)."""
    trial = LOAD_TRIAL_SD if movements[0].kind == Movement.Kind.LOADED else REPETITIONS_TRIAL_SD
    lists = [own for movement in movements for own in by_subject[movement.pk]]
    observed, _, sd_log = _stacked(lists, len(movements), as_of, trial)
    closeness = movement_correlation([[m.involvement.get(p, 0.0) for p in PATTERNS] for m in movements])
    first_guess = [m.typical_best for m in movements], [m.typical_spread for m in movements]
    mean, sd = movement_prior(*first_guess, len(movements))
    prior_cov = (closeness * np.outer(sd, sd))[None]
    log_best, _ = repetitions.estimate_together(observed, sd_log, mean, prior_cov)
    return log_best, joint.quantities_covariance(observed, sd_log, log_best, prior_cov)


def _stacked(lists: list[list[Observation]], subjects: int, as_of: date, trial: float) -> list[np.ndarray]:
    """Values, durations and SDs, (n, subjects, m) each, from the lists of one subject after the other."""
    shape = (subjects, len(lists) // subjects)
    return [np.swapaxes(array.reshape(*shape, array.shape[1]), 0, 1) for array in as_arrays(lists, as_of, trial)]
