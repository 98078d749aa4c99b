"""What first guesses learn from the gym's own athletes (empirical Bayes). Can be made again from efforts alone."""

from collections import defaultdict
from datetime import date

import numpy as np
from django.db import transaction

from athletes.capacity import gym_prior, power_duration, repetitions
from athletes.capacity.constants import ENGINE_DRIFT_SD, ENGINES, METHOD_VERSION, STRENGTH_DRIFT_SD
from athletes.capacity.engines import with_misfit
from athletes.capacity.movements import PACED, Movement, curves_sd, movement_prior, paced_prior
from athletes.capacity.people import People
from athletes.capacity.priors import PUBLISHED, engine_prior
from athletes.estimates.library import Learnt, gym_library
from athletes.estimates.observations import Observation, as_arrays, drift_sd, observations
from athletes.estimates.people import facts_of
from athletes.gym.read import today
from athletes.models import Athlete, Gym


def gym_priors_refresh(*, as_of: date | None = None) -> dict:
    """Learn anew where the gym lies, engine by engine and movement by movement, and keep it.

    Each from its own efforts alone, so that nothing is counted twice; what too few athletes were tested on is left out.
    """
    as_of = as_of or today()
    athletes = Athlete.objects.in_bulk()
    own: dict[str | int, dict[int, list[Observation]]] = defaultdict(lambda: defaultdict(list))
    for seen in observations(list(athletes), as_of):
        if seen.value > 0:  # who cannot do one yet says little of how far the others spread
            own[seen.subject][seen.athlete_id].append(seen)
    several = {subject: found for subject, found in own.items() if len(found) >= gym_prior.FEWEST_ATHLETES}
    library = gym_library(Learnt())
    engines, movements = {}, {}
    for subject, efforts in several.items():
        people = facts_of([athletes[pk] for pk in efforts], as_of)
        lists = list(efforts.values())
        if isinstance(subject, str):
            engines[subject] = {"athletes": len(efforts), **_engine(subject, people, lists, as_of)}
        else:
            movements[str(subject)] = _movement(
                library.library.movements[library.places[subject]], people, lists, as_of
            )
    learnt = {"as_of": as_of.isoformat(), "engines": engines, "movements": movements}
    with transaction.atomic():
        gym = Gym.objects.select_for_update().filter(pk=1).first()
        if gym:
            before = gym.priors if gym.priors.get("method_version") == METHOD_VERSION else {}
            gym.priors = {**before, "method_version": METHOD_VERSION, **learnt}
            gym.save(update_fields=["priors"])
    return learnt


def _engine(engine: str, people: People, efforts: list[list[Observation]], as_of: date) -> dict:
    power, duration, sd = as_arrays(efforts, as_of, drift_sd(None))
    prior = engine_prior(engine, people)
    estimates = power_duration.estimate(power, duration, with_misfit(sd), *prior)
    shift, log_sd = gym_prior.learn(*estimates, *prior, PUBLISHED.log_sd[ENGINES.index(engine)])
    return {"shift": shift.tolist(), "log_sd": log_sd.tolist()}


def _movement(movement: Movement, people: People, efforts: list[list[Observation]], as_of: date) -> dict[str, float]:
    paced = movement.kind == PACED
    value, duration, sd = as_arrays(efforts, as_of, ENGINE_DRIFT_SD if paced else STRENGTH_DRIFT_SD)
    if paced:
        prior = paced_prior(movement, people)
        found = power_duration.estimate(value, duration, with_misfit(sd), *prior)
        shift, spread = gym_prior.learn(*found, *prior, curves_sd([movement])[0])
        return {"shift": float(shift[0]), "reserve_shift": float(shift[1]), "learnt_sd": float(spread[0])}
    mean, sd_of = movement_prior(movement, people)
    best, best_sd = repetitions.estimate(value, with_misfit(sd), mean, sd_of)
    arrays = (best[:, None], best_sd[:, None, None] ** 2, mean[:, None], sd_of[:, None, None] ** 2)
    shift, spread = gym_prior.learn(*arrays, np.array([movement.known_sd]))
    return {"shift": float(shift[0]), "learnt_sd": float(spread[0])}
