"""What came out of each test: the truth of that day, a little noise, and now and then a bad day."""

from collections import defaultdict

import numpy as np

from athletes.capacity import best
from athletes.capacity.constants import KCAL_BASE_PER_H, KCAL_SLOPE_PER_W_H
from coachhub.demo.benchmarks import BENCHMARKS, Measure, Recipe
from coachhub.demo.gym import KINDS
from coachhub.demo.movements import MOVEMENTS
from coachhub.demo.schedule import RESULT, Appointment
from coachhub.demo.truth import Truth, truths

# A little less than the method assumes of a trial.
NOISE_SD = {"engine": 0.02, "paced": 0.03, "repetitions": 0.06, "hold": 0.07, "loaded": 0.02}
MOST_UNBROKEN = 150.0  # of what is paced: who could go on for ever stops there
MINUTE_S = 60.0
BAD_DAY_CHANCE, BAD_DAY = 0.12, 0.05  # and by how much, in the log

KIND = {entry.name: "paced" if entry.paced else entry.kind for entry in MOVEMENTS}
SECONDS = {entry.name: entry.seconds for entry in MOVEMENTS}
ENGINE = {entry.name: entry.engine for entry in MOVEMENTS}
SCALE = {kind.engine: kind.scale or (KCAL_BASE_PER_H, KCAL_SLOPE_PER_W_H) for kind in KINDS if kind.engine}
RECIPES = {recipe.name: recipe for recipe in BENCHMARKS}


def results(tests: list[Appointment]) -> list[float]:
    """The result of each test in its benchmark's unit; of a lift the most kilograms once."""
    known, by_recipe = truths(), defaultdict(list)
    for place, test in enumerate(tests):
        by_recipe[test.benchmark].append((place, test, known[test.person.name]))
    found = [0.0] * len(tests)
    for name, entries in by_recipe.items():
        places, own_tests, own_truths = zip(*entries, strict=True)
        for place, value in zip(places, _values(RECIPES[name], own_tests, own_truths), strict=True):
            found[place] = float(value)
    return found


def _values(recipe: Recipe, tests: tuple[Appointment, ...], known: tuple[Truth, ...]) -> list[float]:
    sd = NOISE_SD[KIND[recipe.movement]]
    noise = [_noise(test, sd) for test in tests]
    pairs = list(zip(tests, known, noise, strict=True))
    engine = ENGINE[recipe.movement]
    if not engine and KIND[recipe.movement] != "paced":
        return [truth.movement(recipe.movement, test.weeks_ago, own) for test, truth, own in pairs]
    theta = np.array([truth.curve(engine or recipe.movement, test.weeks_ago, own) for test, truth, own in pairs])
    return (_on_engine(recipe, engine, theta) if engine else _paced(recipe, theta)).tolist()


def _on_engine(recipe: Recipe, engine: str, theta: np.ndarray) -> np.ndarray:
    if recipe.measure == Measure.TIME_FOR_DISTANCE:
        return best.best_time_for_distance(engine, recipe.fixed, theta)
    if recipe.measure == Measure.TIME_FOR_CALORIES:
        return best.best_time_for_kcal(recipe.fixed, theta, *SCALE[engine])
    return best.best_kcal(recipe.fixed, theta, *SCALE[engine])


def _paced(recipe: Recipe, theta: np.ndarray) -> np.ndarray:
    """Most repetitions in a time, the time for so many, or the most unbroken ones at the movement's usual pace."""
    rate, reserve, ramp = np.exp(theta).T  # rep/min, rep/min · s, s
    if recipe.measure == Measure.REPETITIONS_IN_TIME:
        return (rate + reserve / (recipe.fixed + ramp)) * recipe.fixed / MINUTE_S
    if recipe.measure == Measure.TIME_FOR_REPETITIONS:  # rate · t + reserve · t / (t + ramp) = work
        work = MINUTE_S * recipe.fixed
        linear = rate * ramp + reserve - work
        return (-linear + np.sqrt(linear**2 + 4 * rate * work * ramp)) / (2 * rate)
    seconds = SECONDS[recipe.movement]
    beyond = MINUTE_S / seconds - rate
    lasts = np.where(beyond > 0, reserve / np.where(beyond > 0, beyond, 1.0) - ramp, np.inf)
    return np.clip(lasts / seconds, 0.0, MOST_UNBROKEN)


def _noise(test: Appointment, sd: float) -> float:
    rng = test.random(RESULT)
    return sd * rng.standard_normal() - BAD_DAY * (rng.random() < BAD_DAY_CHANCE)
