"""Is this result right? Asked before it is kept; the answer is the person's."""

from datetime import date

import numpy as np

from athletes.capacity import plausibility
from athletes.capacity.constants import REPETITION_LIMIT
from athletes.capacity.plausibility import Doubt
from athletes.efforts.expectations import away, doubts, expected, of_people
from athletes.efforts.parsing import Result
from athletes.estimates.observations import reduced
from athletes.estimates.people import people_of
from athletes.models import Athlete, Benchmark, Effort
from athletes.words import POUND_KG, result_text, rounded

Measure = Benchmark.Measure
IMPOSSIBLE = "This cannot be right as it stands"
# What a result that is too good or too bad is called, and where the slip mostly is.
SLIPS = {
    Measure.TIME_FOR_DISTANCE: ("faster", "slower", "check the time and the distance"),
    Measure.TIME_FOR_CALORIES: ("faster", "slower", "check the time and the calories"),
    Measure.DISTANCE_IN_TIME: ("further", "less", "check the metres and the time"),
    Measure.CALORIES_IN_TIME: ("more", "fewer", "check the calories and the time"),
    Measure.REPETITIONS: ("more", "fewer", "check the count"),
    Measure.REPETITIONS_IN_TIME: ("more", "fewer", "check the count and the time"),
    Measure.TIME_FOR_REPETITIONS: ("faster", "slower", "check the time and the count"),
    Measure.HOLD: ("longer", "shorter", "check the time"),
    Measure.LIFT: ("heavier", "lighter", "check load and repetitions"),
}


def question_about(athlete: Athlete, benchmark: Benchmark, result: Result, performed_on: date) -> str:
    """Why this result looks wrong for this athlete, as a question to whoever typed it; empty when it does not."""
    same = Effort.objects.standing().filter(
        athlete=athlete,
        benchmark=benchmark,
        performed_on=performed_on,
        value=result.value,
        repetitions=result.repetitions,
    )
    if same.exists():
        return "The same result is already kept for that day. Keep it twice?"
    doubt, usual = _doubt(athlete, benchmark, result)
    if doubt in (Doubt.FAR_ABOVE, Doubt.FAR_BELOW):
        return surprising(doubt, benchmark, usual, result.repetitions, athlete.load_unit)
    if doubt == Doubt.NONE and (result.repetitions or 0) > REPETITION_LIMIT:
        return f"More than {REPETITION_LIMIT} repetitions say little about a maximum. Keep it, or test a heavier load?"
    if doubt == Doubt.IMPOSSIBLE:
        slip = _slip(benchmark, result, usual, athlete.load_unit)
        return f"{slip} If it is kept all the same, it counts for nothing."
    return plausibility.sentence(doubt)


def surprising(doubt: Doubt, benchmark: Benchmark, usual: float, repetitions: int | None, unit: str) -> str:
    """What to ask about a result far from the `usual` one, in the benchmark's unit; loads are told in `unit`."""
    return f"{plausibility.sentence(doubt)} About {_about(benchmark, usual, repetitions, unit)} was expected."


def meant(benchmark: Benchmark, value: float, repetitions: int | None, unit: str = "kg") -> str:
    """What an odd result may have been meant to be: 7:42 of 7.42, and 120 kg × 3 of 3 kg × 120; empty where nothing."""
    minutes, hundredths = divmod(round(100 * value), 100)
    if benchmark.value_unit == "s" and 0 < hundredths < 60 and 0 < minutes < 60:
        return f"{minutes}:{hundredths:02d}"
    load = round(value / (POUND_KG if unit == "lb" else 1.0), 6)
    if benchmark.measure == Measure.LIFT and (repetitions or 0) > max(load, REPETITION_LIMIT) and load == int(load):
        return f"{repetitions} {unit} × {load:.0f}"
    return ""


def _about(benchmark: Benchmark, usual: float, repetitions: int | None, unit: str) -> str:
    whole = benchmark.measure in (Measure.REPETITIONS, Measure.REPETITIONS_IN_TIME)
    return result_text(benchmark.measure, float(rounded(usual, 0 if whole else 1)), repetitions, unit)


def _slip(benchmark: Benchmark, result: Result, usual: float, unit: str) -> str:
    """Words for a result that nobody can do, with what it may have been meant to be."""
    about = _about(benchmark, usual, result.repetitions, unit)
    if said := meant(benchmark, result.value, result.repetitions, unit):
        return f"{IMPOSSIBLE}. Did you mean {said}? About {about} was expected."
    return f"{IMPOSSIBLE}: about {about} was expected; {SLIPS[benchmark.measure][2]}."


def _doubt(athlete: Athlete, benchmark: Benchmark, result: Result) -> tuple[Doubt, float]:
    """The doubt about a result, and the value that was expected, in the benchmark's unit."""
    value, duration = reduced(benchmark, result.value, result.repetitions)
    mean, covariance = of_people(benchmark, people_of([athlete]))
    seconds = np.inf if duration is None else duration
    odd = away(benchmark, [result.value], [result.repetitions], mean, covariance)[0]
    doubt = doubts(benchmark, value, seconds, odd)
    per_set = value / result.value if benchmark.measure == Measure.LIFT else 1.0
    return Doubt(int(doubt)), float(expected(benchmark, mean, covariance).value[0]) / per_set
