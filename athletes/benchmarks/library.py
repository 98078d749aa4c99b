"""The usual tests of the trade, ready to be added to a gym: plain data. Common practice, but for what names a source.

An entry fits movements by their engine, or by words of their name. A test is named after the movement that the gym
has, so that nothing here depends on how a gym calls things.
"""

from dataclasses import dataclass

from athletes.words import MILE_M

# Two tests are one where what is fixed differs by less: 1609 m and 1609.344 m are the same mile.
SAME_FIXED = 1e-3

FLYWHEEL = "From a fan at rest, own lever. Over at zero metres left; read the time to the tenth."
TIMED = "From a fan at rest, own lever. What the monitor shows when the time is over."
SPRINT = "From a fan at rest, own lever. Time to the tenth, from the first stroke to the last calorie."
LOOP = "Measured course, standing start, alone or paced. No wind above a breeze."
UNBROKEN = "In one go: a pause of more than one breath ends it. Somebody counts whole repetitions only."
PACED = "Own pace, stopping allowed. Somebody counts aloud; only whole repetitions count."
HELD = "Somebody watches and stops the time when the position is lost a second time."
LIFT = (
    "After three rising sets, with rests. A set of at most 10 without a grinding last repetition: load × repetitions."
)


@dataclass(frozen=True)
class Reference:
    """A published figure to compare results with, in the unit of the benchmark's results. Never a target."""

    low: float
    high: float
    words: str
    source: str


@dataclass(frozen=True)
class LibraryTest:
    """A test. `title` follows the movement's name; `measure` is a Benchmark.Measure; `fixed` in m, s, kcal or times."""

    key: str
    title: str
    measure: str
    fixed: float | None
    instructions: str
    engines: tuple[str, ...] = ()
    words: str = ""  # in the slug of a movement, "pull-up"
    references: tuple[Reference, ...] = ()


# Of the published figures at hand only this one is a result of people in a test of this list: other tables rest on
# another protocol, disagree with each other, or name no source.
STUDENTS = "Scand J Med Sci Sports 2003, 13:317–321 (students of 18 to 24 years; abstract seen)"
ROW_2000 = (
    Reference(378.0, 484.0, "120 men, 18 to 24 years: fastest to slowest", STUDENTS),
    Reference(437.0, 556.0, "71 women, 18 to 24 years: fastest to slowest", STUDENTS),
)
REFERENCES = {("row", 2000): ROW_2000}

FLYWHEELS, FANS = ("row", "ski"), ("row", "ski", "bike")


def _distance(engine: str, metres: float, title: str, how: str) -> LibraryTest:
    found = REFERENCES.get((engine, metres), ())
    key = f"{engine}-{metres:.0f}-m"
    return LibraryTest(key, title, "time_for_distance", metres, how, (engine,), references=found)


DISTANCES = [
    *(_distance(engine, metres, f"{metres} m", FLYWHEEL) for engine in FLYWHEELS for metres in (500, 1000, 2000, 5000)),
    _distance("run", 400, "400 m", LOOP),
    _distance("run", 800, "800 m", LOOP),
    _distance("run", MILE_M, "1 mile", LOOP),
    _distance("run", 5000, "5 km", LOOP),
]
TIMES = [
    LibraryTest(f"{minutes}-min-kcal", f"{minutes}-minute calories", "calories_in_time", 60 * minutes, TIMED, FANS)
    for minutes in (1, 10, 30)
] + [
    LibraryTest(f"{minutes}-min-m", f"{minutes}-minute distance", "distance_in_time", 60 * minutes, TIMED, FLYWHEELS)
    for minutes in (1, 10, 30)
]
SPRINTS = [
    LibraryTest(f"{kcal}-kcal", f"{kcal} kcal", "time_for_calories", kcal, SPRINT, FANS) for kcal in (10, 15, 50)
]


def _counted(words: str, how: str = "") -> LibraryTest:
    instructions = f"{UNBROKEN} {how}".strip()
    return LibraryTest(f"unbroken-{words}", "most unbroken", "repetitions", None, instructions, words=words)


# The more particular first, here and below: a hip-extension sit-up is no sit-up.
UNBROKEN_SETS = [
    _counted("hip-extension-sit-up", "Never in the first weeks: very sore when it is new."),
    _counted("hip-extension"),
    _counted("pull-up", "Long arms below, chin above the bar."),
    _counted("chin-up", "Long arms below, chin above the bar."),
    _counted("ring-row", "Always with the feet at the same mark."),
    _counted("push-up", "Chest to the same height every time, straight arms above."),
    _counted("dip", "Shoulder below the elbow, straight arms above."),
    _counted("box-jump", "Stand tall on top, step down every time."),
    _counted("step-up"),
    _counted("burpee"),
    _counted("lunge"),
    _counted("air-squat", "Hips below the knees where the back allows it."),
    _counted("swing", "Always with the same load."),
    _counted("wall-ball", "Always with the same ball and target."),
    _counted("double-under", "The first miss ends it."),
    _counted("muscle-up"),
    _counted("toes-to-bar"),
    _counted("knee-raise"),
    _counted("sit-up"),
]


def _in_time(words: str, minutes: int) -> LibraryTest:
    title = f"most in {minutes}:00"
    return LibraryTest(f"{minutes}-min-{words}", title, "repetitions_in_time", 60 * minutes, PACED, words=words)


def _for_time(words: str, count: int, how: str = "") -> LibraryTest:
    instructions = f"{PACED} {how}".strip()
    return LibraryTest(
        f"{count}-{words}", f"{count} for time", "time_for_repetitions", count, instructions, words=words
    )


# Of movements that breath and rhythm limit before the muscle; the form takes them of no others.
PACED_TESTS = [
    _in_time("burpee", 1),
    _in_time("burpee", 7),
    _for_time("burpee", 50),
    _in_time("box-jump", 1),
    _in_time("step-up", 1),
    _for_time("step-up", 50, "Always with the same box."),
    _for_time("air-squat", 50, "Hips below the knees where the back allows it."),
    _in_time("air-squat", 1),
    _in_time("single-under", 1),
    _in_time("double-under", 1),
]
HOLDS = [
    LibraryTest(f"longest-{words}", "longest hold", "hold", None, HELD, words=words)
    for words in ("plank", "hang", "wall-sit", "handstand", "l-sit")
]
LIFTS = [
    LibraryTest(f"rep-max-{words}", "rep-max", "lift", None, LIFT, words=words)
    for words in (
        *("thruster", "deadlift", "front-squat", "back-squat", "overhead-squat", "goblet-squat", "squat"),
        *("bench-press", "push-press", "overhead-press", "press", "clean", "snatch", "row", "hip-thrust"),
    )
]
ENTRIES = [*DISTANCES, *TIMES, *SPRINTS, *UNBROKEN_SETS, *PACED_TESTS, *HOLDS, *LIFTS]


def same_fixed(one: float | None, other: float | None) -> bool:
    """Whether two tests of one measure fix the same."""
    if one is None or other is None:
        return one is other
    return abs(one - other) <= SAME_FIXED * other


def references_of(engine: str, measure: str, fixed: float | None) -> tuple[Reference, ...]:
    """The published figures that may stand beside results of such a test; for most there are none."""
    fitting = (e for e in DISTANCES if engine in e.engines and e.measure == measure and same_fixed(fixed, e.fixed))
    return next((entry.references for entry in fitting), ())
