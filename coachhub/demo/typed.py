"""Results as the staff of the demo gym type them: every one in a way of its own."""

import numpy as np

from athletes.words import POUND_KG, clock, number
from coachhub.demo.benchmarks import Measure, Recipe

PLATE_KG, PLATE_LB = 2.5, 5.0  # smallest steps on a bar


def typed_text(recipe: Recipe, best: float, unit: str, rng: np.random.Generator) -> str | None:
    """`best` (in the benchmark's unit, of a lift the maximum in kg) as typed; None below the smallest plates."""
    way = rng.random()
    if recipe.measure in (Measure.TIME_FOR_DISTANCE, Measure.TIME_FOR_CALORIES, Measure.TIME_FOR_REPETITIONS):
        return _time(recipe, best, way)
    if recipe.measure in (Measure.CALORIES_IN_TIME, Measure.REPETITIONS_IN_TIME):
        return _amount(recipe, int(best), way)
    if recipe.measure == Measure.HOLD:
        return clock(best, tenths=False) if way < 0.7 else f"{best:.0f}s"
    if recipe.measure == Measure.LIFT:
        return _lift(best, unit, int(rng.choice([1, 2, 3, 3, 5, 5, 5, 8])), way)
    return f"{int(best)} reps" if best >= 1 and way > 0.9 else f"{int(best)}"  # none at all is a result


def _time(recipe: Recipe, best: float, way: float) -> str:
    if best < 60 and way < 0.5:
        return f"{best:.1f}"
    if recipe.movement in ("Row", "Ski") and recipe.fixed >= 1000 and way > 0.9:
        return f"{clock(best * 500 / recipe.fixed)}/500"
    return clock(best, tenths=recipe.movement != "Run")


def _amount(recipe: Recipe, best: int, way: float) -> str:
    time = clock(recipe.fixed, tenths=False)
    return f"{best}" if way < 0.6 else f"{best} in {time}" if way < 0.85 else f"{best}/{time}"


def _lift(best: float, unit: str, repetitions: int, way: float) -> str | None:
    load = best if repetitions == 1 else best / (1 + repetitions / 30)
    if unit == "lb":
        pounds = np.floor(load / POUND_KG / PLATE_LB) * PLATE_LB
        return f"{number(pounds)} lb x {repetitions}"
    kilograms = np.floor(load / PLATE_KG) * PLATE_KG
    if kilograms < PLATE_KG:
        return None
    return f"{number(kilograms)}x{repetitions}" if way < 0.75 else f"{number(kilograms)} kg x {repetitions}"
