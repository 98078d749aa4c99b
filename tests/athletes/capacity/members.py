"""Six members as coaches know them (their tests of the last two months), and a gym's movements: for the tests here.

Common practice, no measured data: who they are and what they do was written down by hand for this project.
"""

import numpy as np

from athletes.capacity.constants import LOAD_TRIAL_SD, POWER_TRIAL_SD, REPETITIONS_TRIAL_SD
from athletes.capacity.engines import Efforts
from athletes.capacity.ergometer import watts_for_kcal, watts_for_metres
from athletes.capacity.estimate import Library, Trials
from athletes.capacity.movements import Movement, minute_rate
from athletes.capacity.observations import UNBROKEN_RATE_SD, rate_in_time, rate_of_unbroken
from athletes.capacity.people import People

NAN = np.nan
A, B, C, D, E, F = range(6)
PEOPLE = People.of(
    ["male", "female", "male", "female", "female", "male"], [86, 64, 92, 70, 58, 78], [29, 33, 46, 51, 24, 37]
)

# pull, push, hinge, squat, trunk, grip, whole body
PULL, PUSH, HINGE = (1.0, 0, 0, 0, 0.3, 0.7, 0), (0, 1.0, 0, 0, 0.4, 0, 0), (0, 0, 1.0, 0, 0.3, 0.3, 0)
SQUAT, TRUNK, WHOLE = (0, 0, 0, 1.0, 0.2, 0, 0), (0, 0, 0, 0, 1.0, 0, 0), (0, 0.3, 0, 0.5, 0, 0, 1.0)
MOVEMENTS = {
    "strict pull-up": Movement("repetitions", 4, 0.8, PULL),
    "banded pull-up": Movement("repetitions", 8, 0.65, PULL),
    "ring row": Movement("repetitions", 16, 0.5, PULL),
    "push-up": Movement("repetitions", 16, 0.6, PUSH),
    "push-up, hands on a box": Movement("repetitions", 26, 0.5, PUSH),
    "sit-up": Movement("repetitions", 34, 0.45, TRUNK),
    "throw": Movement("repetitions", 22, 0.5, WHOLE),
    "swing 24 kg": Movement("repetitions", 26, 0.5, HINGE),
    "swing 16 kg": Movement("repetitions", 45, 0.5, HINGE),
    "plank": Movement("hold", 90, 0.45, TRUNK),
    "deadlift": Movement("loaded", 100, 0.4, HINGE),
    "back squat": Movement("loaded", 75, 0.4, SQUAT),
    "overhead press": Movement("loaded", 38, 0.4, PUSH),
    "burpee": Movement("paced", 14, 0.3, WHOLE),
    "box jump": Movement("paced", minute_rate(20, 2.6), 0.3, SQUAT),
    "step-up": Movement("paced", minute_rate(40, 2.4), 0.3, SQUAT),
    "air squat": Movement("paced", minute_rate(60, 1.6), 0.3, SQUAT),
    "rope skip": Movement("paced", minute_rate(90, 0.6), 0.3, WHOLE),
}
PLACE = {name: g for g, name in enumerate(MOVEMENTS)}
RUNGS = (
    ("ring row", "banded pull-up"),
    ("banded pull-up", "strict pull-up"),
    ("ring row", "strict pull-up"),
    ("push-up, hands on a box", "push-up"),
    ("swing 16 kg", "swing 24 kg"),
    ("step-up", "box jump"),
)
LIBRARY = Library(tuple(MOVEMENTS.values()), tuple((PLACE[easier], PLACE[harder]) for easier, harder in RUNGS))


def column(*values):
    """Results of A to E, one each, and none of F."""
    return np.array([*values, *[NAN] * (len(PEOPLE) - len(values))], float)[:, None]


def _efforts(*tests):
    """Efforts from (power, seconds) columns."""
    watts, seconds = (np.hstack(own) for own in zip(*(np.broadcast_arrays(*test) for test in tests), strict=True))
    return Efforts(watts, np.where(np.isnan(watts), NAN, seconds), np.full(watts.shape, POWER_TRIAL_SD))


def _unbroken(seconds_per_repetition, *repetitions):
    rate, seconds = rate_of_unbroken(column(*repetitions), seconds_per_repetition)
    return Efforts(rate, seconds, np.full(rate.shape, UNBROKEN_RATE_SD))


def _rowed(metres, *seconds):
    return watts_for_metres(metres, column(*seconds)), column(*seconds)


MILE = column(375, 460, 530, 640, 535)
EFFORTS = {
    "row": _efforts(_rowed(2000.0, 408, 478, 470, 552, 545), _rowed(500.0, 89.5, 107, 103, 124, 125)),
    "ski": _efforts(_rowed(1000.0, 216, 259, 262, 301)),
    "bike": _efforts((watts_for_kcal(column(34, 20, 26, 13, 12), 60.0), 60.0)),
    "run": _efforts((1609.344 / MILE, MILE)),
    PLACE["burpee"]: _efforts(rate_in_time(column(108, 78, 58, 41, 52), 420.0)),
    PLACE["box jump"]: _unbroken(2.6, 40, 26, 15, 0, 18),
    PLACE["air squat"]: _unbroken(1.6, 110, 80, 55, 40, 50),
}


def _trials(sd, *values):
    return Trials(column(*values), np.full((len(PEOPLE), 1), sd))


TRIALS = {
    PLACE[name]: _trials(REPETITIONS_TRIAL_SD, *values)
    for name, values in {
        "strict pull-up": (14, 4, 3, 0, 0),
        "ring row": (34, 20, 18, 10, 9),
        "push-up": (46, 18, 24, 6, 5),
        "sit-up": (62, 48, 30, 24, 28),
        "throw": (42, 28, 24, 14, 13),
        "swing 24 kg": (52, NAN, 34, NAN, NAN),
        "swing 16 kg": (NAN, 32, NAN, 20, 14),
        "plank": (190, 140, 90, 65, 55),
    }.items()
} | {
    PLACE[name]: _trials(LOAD_TRIAL_SD, *values)
    for name, values in {
        "deadlift": (185, 100, 140, 75, 55),
        "back squat": (150, 78, 105, 52, 42),
        "overhead press": (72, 36, 52, 25, 21),
    }.items()
}
