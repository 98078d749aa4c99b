"""The tests of the demo gym, and how each is done there."""

from dataclasses import dataclass

from athletes.models import Benchmark
from athletes.words import MILE_M

Measure = Benchmark.Measure

FLYWHEEL = "From a fan at rest, your own lever. Over at zero metres left; read the time to the tenth."
SPRINT = "From a fan at rest, your own lever. Time to the tenth from the first stroke."
COUNT = "From a fan at rest. The calories that the monitor shows when the time is over."
LOOP = "On the riverside track, from a standing start, alone or paced. No wind above a breeze."
UNBROKEN = "In one go; a pause of more than one breath ends it. A coach counts whole ones only."
PACED = "Own pace, stopping allowed. Somebody counts aloud; only whole ones count."
LIFT = "After three rising sets. A set without a grinding last repetition; write load x repetitions."


@dataclass(frozen=True)
class Recipe:
    """A benchmark and how it is done; `movement` is a movement's name."""

    name: str
    movement: str
    measure: Measure
    fixed: float | None
    instructions: str


BENCHMARKS = [
    Recipe("Row 500 m", "Row", Measure.TIME_FOR_DISTANCE, 500, FLYWHEEL),
    Recipe("Row 1000 m", "Row", Measure.TIME_FOR_DISTANCE, 1000, FLYWHEEL),
    Recipe("Row 2000 m", "Row", Measure.TIME_FOR_DISTANCE, 2000, FLYWHEEL),
    Recipe("Row 1-minute calories", "Row", Measure.CALORIES_IN_TIME, 60, COUNT),
    Recipe("Row 15 kcal", "Row", Measure.TIME_FOR_CALORIES, 15, SPRINT),
    Recipe("Ski 500 m", "Ski", Measure.TIME_FOR_DISTANCE, 500, FLYWHEEL),
    Recipe("Ski 1000 m", "Ski", Measure.TIME_FOR_DISTANCE, 1000, FLYWHEEL),
    Recipe("Ski 15 kcal", "Ski", Measure.TIME_FOR_CALORIES, 15, SPRINT),
    Recipe("Fan bike 1-minute calories", "Fan bike", Measure.CALORIES_IN_TIME, 60, COUNT),
    Recipe("Fan bike 10-minute calories", "Fan bike", Measure.CALORIES_IN_TIME, 600, COUNT),
    Recipe("Run 400 m", "Run", Measure.TIME_FOR_DISTANCE, 400, LOOP),
    Recipe("Run 1 mile", "Run", Measure.TIME_FOR_DISTANCE, MILE_M, LOOP),
    Recipe("Run 3 km", "Run", Measure.TIME_FOR_DISTANCE, 3000, LOOP),
    Recipe("Run 5 km", "Run", Measure.TIME_FOR_DISTANCE, 5000, LOOP),
    Recipe("Unbroken pull-ups", "Pull-up", Measure.REPETITIONS, None, UNBROKEN),
    Recipe("Unbroken banded pull-ups", "Banded pull-up", Measure.REPETITIONS, None, UNBROKEN + " The middle band."),
    Recipe("Unbroken ring rows", "Ring row", Measure.REPETITIONS, None, UNBROKEN + " Feet on the painted line."),
    Recipe("Unbroken push-ups", "Push-up", Measure.REPETITIONS, None, UNBROKEN),
    Recipe("Unbroken push-ups, hands on a box", "Push-up, hands on a box", Measure.REPETITIONS, None, UNBROKEN),
    Recipe("Burpees in 7:00", "Burpee", Measure.REPETITIONS_IN_TIME, 420, PACED),
    Recipe("Step-ups in 1:00", "Step-up", Measure.REPETITIONS_IN_TIME, 60, PACED + " The middle box."),
    Recipe("50 air squats for time", "Air squat", Measure.TIME_FOR_REPETITIONS, 50, PACED),
    Recipe("Single-unders in 1:00", "Single-under", Measure.REPETITIONS_IN_TIME, 60, PACED),
    Recipe("Unbroken toes-to-bar", "Toes-to-bar", Measure.REPETITIONS, None, UNBROKEN + " From still, no swing."),
    Recipe("Unbroken box jumps", "Box jump", Measure.REPETITIONS, None, UNBROKEN + " Step down every time."),
    Recipe("Unbroken wall balls", "Wall ball", Measure.REPETITIONS, None, UNBROKEN),
    Recipe("Unbroken sit-ups", "Sit-up", Measure.REPETITIONS, None, UNBROKEN),
    Recipe("Unbroken swings, 24 kg", "Kettlebell swing, 24 kg", Measure.REPETITIONS, None, UNBROKEN),
    Recipe("Unbroken hip-extension sit-ups", "Hip-extension sit-up", Measure.REPETITIONS, None, UNBROKEN),
    Recipe("Unbroken double-unders", "Double-under", Measure.REPETITIONS, None, "The first miss ends it."),
    Recipe("Longest plank", "Plank", Measure.HOLD, None, "Ends when hips or head leave the line a second time."),
    Recipe("Longest dead hang", "Dead hang", Measure.HOLD, None, "Full grip, still; ends when a hand opens."),
    Recipe("Deadlift rep-max", "Deadlift", Measure.LIFT, None, LIFT),
    Recipe("Back squat rep-max", "Back squat", Measure.LIFT, None, LIFT),
    Recipe("Bench press rep-max", "Bench press", Measure.LIFT, None, LIFT),
    Recipe("Overhead press rep-max", "Overhead press", Measure.LIFT, None, LIFT),
    Recipe("Thruster rep-max", "Thruster", Measure.LIFT, None, LIFT),
]
