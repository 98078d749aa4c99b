"""Which benchmark a name means: a word that a benchmark does not have means another test."""

import pytest

from athletes.importing.sheets.benches import Bench, Benches, repetitions_of

GYM = [
    Bench(1, "Row 2000 m", "time_for_distance", 2000, ("Row", "rowing ergometer")),
    Bench(2, "Row 1-minute calories", "calories_in_time", 60, ("Row", "rowing ergometer")),
    Bench(3, "Fan bike 10-minute calories", "calories_in_time", 600, ("Fan bike",)),
    Bench(4, "Run 1 mile", "time_for_distance", 1609.344, ("Run",)),
    Bench(5, "Unbroken pull-ups", "repetitions", None, ("Pull-up",)),
    Bench(6, "Unbroken banded pull-ups", "repetitions", None, ("Banded pull-up", "assisted pull-up")),
    Bench(7, "Unbroken push-ups", "repetitions", None, ("Push-up", "press-up")),
    Bench(8, "Unbroken push-ups, hands on a box", "repetitions", None, ("Push-up, hands on a box",)),
    Bench(9, "Unbroken sit-ups", "repetitions", None, ("Sit-up",)),
    Bench(10, "Unbroken hip-extension sit-ups", "repetitions", None, ("Hip-extension sit-up",)),
    Bench(11, "Unbroken box jumps", "repetitions", None, ("Box jump",)),
    Bench(12, "Unbroken swings, 24 kg", "repetitions", None, ("Kettlebell swing, 24 kg",)),
    Bench(13, "Unbroken double-unders", "repetitions", None, ("Double-under",)),
    Bench(14, "Single-unders in 1:00", "repetitions_in_time", 60, ("Single-under",)),
    Bench(15, "Step-ups in 1:00", "repetitions_in_time", 60, ("Step-up",)),
    Bench(16, "50 air squats for time", "time_for_repetitions", 50, ("Air squat", "bodyweight squat")),
    Bench(17, "Longest plank", "hold", None, ("Plank",)),
    Bench(18, "Longest dead hang", "hold", None, ("Dead hang",)),
    Bench(19, "Deadlift rep-max", "lift", None, ("Deadlift",)),
    Bench(20, "Back squat rep-max", "lift", None, ("Back squat",)),
    Bench(21, "Bench press rep-max", "lift", None, ("Bench press",)),
    Bench(22, "Overhead press rep-max", "lift", None, ("Overhead press",)),
    Bench(23, "Thruster rep-max", "lift", None, ("Thruster",)),
    Bench(24, "Ski 500 m", "time_for_distance", 500, ("Ski", "ski ergometer")),
]


def meant(name: str, gym: list[Bench] = GYM) -> str | None:
    found = Benches(gym).find(name)
    return found and found.name


@pytest.mark.parametrize(
    "name",
    ["Romanian deadlift", "RDL", "Sumo deadlift", "Knee push ups", "Ring push-ups", "Kipping pull-ups",
     "Jumping pull ups", "Weighted pull-up", "Pull-ups (kg)", "Pull-up 1RM", "Pull-ups (kipping)",
     "Chest-to-bar pull-ups", "C2B", "Pull-ups target", "Pull-up hold", "DB bench", "Close-grip bench press",
     "DB thruster", "Burpee box jump", "Box jump over", "2k row watts", "2k row rank", "2k row (rank)", "DL % BW",
     "Squat % BW", "Back squat reps", "Front squat"],
)  # fmt: skip
def test_a_word_that_no_benchmark_has_means_none_of_them(name):
    assert meant(name) is None


@pytest.mark.parametrize(
    ("name", "benchmark"),
    [
        ("Pull ups (banded)", "Unbroken banded pull-ups"), ("Banded pull-ups max", "Unbroken banded pull-ups"),
        ("Push-ups (hands on box)", "Unbroken push-ups, hands on a box"), ("Push ups", "Unbroken push-ups"),
        ("GHD sit ups", "Unbroken hip-extension sit-ups"), ("Situps", "Unbroken sit-ups"),
    ],
)  # fmt: skip
def test_a_benchmark_that_has_the_word_is_meant(name, benchmark):
    assert meant(name) == benchmark


@pytest.mark.parametrize(
    ("name", "benchmark"),
    [
        ("1 min row cal", "Row 1-minute calories"), ("Row 1 min cals", "Row 1-minute calories"),
        ("row 60s cal", "Row 1-minute calories"), ("max cal row 1 min", "Row 1-minute calories"),
        ("10 min bike", "Fan bike 10-minute calories"), ("Air bike 10min cals", "Fan bike 10-minute calories"),
        ("plank hold", "Longest plank"), ("hang", "Longest dead hang"), ("strict press", "Overhead press rep-max"),
        ("shoulder press", "Overhead press rep-max"), ("dubs", "Unbroken double-unders"), ("mile", "Run 1 mile"),
        ("1 mile run", "Run 1 mile"), ("KBS", "Unbroken swings, 24 kg"), ("air squats", "50 air squats for time"),
        ("kettlebell swings", "Unbroken swings, 24 kg"), ("step ups", "Step-ups in 1:00"),
        ("single unders", "Single-unders in 1:00"), ("500 m ski erg", "Ski 500 m"), ("2000m erg", "Row 2000 m"),
        ("Pull-ups (max)", "Unbroken pull-ups"), ("Pull-ups reps", "Unbroken pull-ups"),
        ("2k (min)", "Row 2000 m"), ("Klimmzüge Wdh", "Unbroken pull-ups"), ("Rudern 2000 m Zeit", "Row 2000 m"),
        ("2k row PR autumn 2026", "Row 2000 m"), ("2,000m row", "Row 2000 m"), ("Deadlift Nov", "Deadlift rep-max"),
        ("Deadlift (lb)", "Deadlift rep-max"), ("Back squat 3 rep max", "Back squat rep-max"),
    ],
)  # fmt: skip
def test_benchmarks_are_known_as_the_trade_heads_them(name, benchmark):
    assert meant(name) == benchmark


def test_what_two_benchmarks_have_is_asked():
    heavier = Bench(30, "Unbroken swings, 32 kg", "repetitions", None, ("Kettlebell swing, 32 kg",))
    assert meant("KBS", [*GYM, heavier]) is None
    assert meant("KBS 32 kg", [*GYM, heavier]) == "Unbroken swings, 32 kg"
    assert meant("1 min row", [*GYM, Bench(31, "Row 1-minute distance", "distance_in_time", 60, ("Row",))]) is None


def test_an_easier_form_is_not_meant_by_the_plain_name():
    assert meant("Pull-ups", [bench for bench in GYM if bench.pk != 5]) is None
    assert meant("Squat", [Bench(1, "Goblet squat", "lift", None, ("Goblet squat",))]) is None


def test_repetitions_stand_in_words_too():
    assert [repetitions_of(name) for name in ("Back squat 3 rep max", "Bench 5RM", "Deadlift rep-max")] == [3, 5, None]
