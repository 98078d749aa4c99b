"""What first guesses learn from the gym's own athletes (empirical Bayes). Can be made again from efforts alone."""

from collections import defaultdict
from datetime import date

import numpy as np

from athletes.capacity import gym_prior, power_duration
from athletes.capacity.constants import ENGINES, METHOD_VERSION, POWER_TRIAL_SD
from athletes.capacity.priors import PUBLISHED, engine_prior
from athletes.estimates.observations import as_arrays, observations
from athletes.estimates.people import sex_and_mass
from athletes.gym.read import today
from athletes.models import Athlete, Gym


def gym_priors_refresh(*, as_of: date | None = None) -> dict:
    """Learn anew where the gym lies, engine by engine, and keep it; engines with too few athletes are left out."""
    as_of = as_of or today()
    by_engine = defaultdict(lambda: defaultdict(list))
    athletes = Athlete.objects.in_bulk()
    for observation in observations(list(athletes), as_of):
        if observation.engine:
            by_engine[observation.engine][observation.athlete_id].append(observation)
    engines = {}
    for engine, efforts in by_engine.items():
        if len(efforts) >= gym_prior.FEWEST_ATHLETES:
            arrays = as_arrays(list(efforts.values()), as_of, POWER_TRIAL_SD)
            engines[engine] = _learnt(engine, [athletes[i] for i in efforts], arrays)
    learnt = {"method_version": METHOD_VERSION, "as_of": as_of.isoformat(), "engines": engines}
    Gym.objects.filter(pk=1).update(priors=learnt)
    return learnt


def _learnt(engine: str, athletes: list[Athlete], efforts: tuple[np.ndarray, np.ndarray, np.ndarray]) -> dict:
    """Each engine from its own efforts alone, so that nothing is counted twice."""
    prior = engine_prior(engine, *sex_and_mass(athletes))
    estimates = power_duration.estimate(*efforts, *prior)
    shift, log_sd = gym_prior.learn(*estimates, *prior, PUBLISHED.log_sd[ENGINES.index(engine)])
    return {"athletes": len(athletes), "shift": shift.tolist(), "log_sd": log_sd.tolist()}
