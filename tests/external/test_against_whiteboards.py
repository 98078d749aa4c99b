"""Against workouts as people write them in forums and textbooks: own wording, common practice of the notation.

Each line stands with what an experienced coach takes it for. The movements are those of the demo gym.
"""

import pytest

from sessions.circuits.text.names import Names
from sessions.circuits.text.reading import read
from tests.circuits.text.whiteboard import NAMES, brief

# A line → its stations: movements with doses; then what it says of the clock.
STATIONS = {
    "12-14 cal row": "row 12–14 kcal",
    "row 12-14 cal": "row 12–14 kcal",
    "Row, 12 to 14 calories": "row 12–14 kcal",
    "15 kcal row or fan bike": "row 15 kcal | fan-bike 15 kcal",
    "10/8 cal row": "row 8–10 kcal",
    "500m row": "row 500 metres",
    "2k row": "row 2000 metres",
    "1.5 km run": "run 1500 metres",
    "1,000 m row": "row 1000 metres",
    "Run 400 meters": "run 400 metres",
    "200 Meter laufen": "run 200 metres",
    "15 kcal Rudern": "row 15 kcal",
    "12 cals on the bike": "fan-bike 12 kcal",
    "0:40 row at pace": "row 40 seconds",
    "30 s ski": "ski 30 seconds",
    "5-7 strict pull-ups, or band pull-ups, or 11 ring rows": (
        "pull-up 5–7 repetitions | banded-pull-up 5–7 repetitions | ring-row 11 repetitions"
    ),
    "5 pullups": "pull-up 5 repetitions",
    "Pull ups x 5": "pull-up 5 repetitions",
    "12 T2B": "toes-to-bar 12 repetitions",
    "12 toes to bar (or hanging knee raises)": "toes-to-bar 12 repetitions | hanging-knee-raise 12 repetitions",
    "40 DU or 80 single unders": "double-under 40 repetitions | single-under 80 repetitions",
    "18 air squats in 40 s": "air-squat 18 repetitions",
    "15 wallballs": "wall-ball 15 repetitions",
    "16 KB swings 24/16": "kettlebell-swing-24-kg 16 repetitions | kettlebell-swing-16-kg 16 repetitions",
    "10 kb swings, 24 kg": "kettlebell-swing-24-kg 10 repetitions",
    "8 box jump overs": "box-jump-over 8 repetitions",
    "10 burpes": "burpee 10 repetitions",
    "rwo 12 cal": "row 12 kcal",
    "10 Wdh. Klimmzug": "pull-up 10 repetitions",
    "20 répétitions push-up": "push-up 20 repetitions",
    '30" plank': "plank 30 seconds",
    "plank 1:00": "plank 60 seconds",
    "1 min dead hang": "dead-hang 60 seconds",
    "plank 45 sec": "plank 45 seconds",
    "bench press 3x8-10 @ 70%": "bench-press 8–10 load_repetitions × 70 %",
    "5 x 5 back squat at 75 %": "back-squat 5 load_repetitions × 75 %",
    "back squat 5x5 @ 100 kg": "back-squat 5 load_repetitions × 100 kg",
    "deadlift 3 reps 100/70 kg": "deadlift 3 load_repetitions × 100 kg | deadlift 3 load_repetitions × 70 kg",
    "goblet squat x 10 at 53 lb": "goblet-squat 10 load_repetitions × 24.04 kg",
    "8 overhead presses with 2 reps in reserve": "overhead-press 8 load_repetitions, 2 in reserve",
    "5 power cleans @ 60%": "power-clean 5 load_repetitions × 60 %",
    "10 thrusters 40/30": "thruster 10 load_repetitions × 40 kg | thruster 10 load_repetitions × 30 kg",
    "1. 12 cal ski": "ski 12 kcal",
    "B1) 10 push ups": "push-up 10 repetitions",
    "Min 2: 15 wall balls": "wall-ball 15 repetitions",
    "- 20 walking lunges": "walking-lunge 20 repetitions",
    "12 cal row / 10 push-ups / 15 air squats": "row 12 kcal + push-up 10 repetitions + air-squat 15 repetitions",
    "4 rounds for time: 800 m run, 750 m row": "run 800 metres + row 750 metres",
    "20 min AMRAP: 5 pull-ups, 10 push-ups, 15 air squats": (
        "pull-up 5 repetitions + push-up 10 repetitions + air-squat 15 repetitions"
    ),
    "EMOM 20: 10 burpees": "burpee 10 repetitions",
    "15 kb swings (24kg)": "kettlebell-swing-24-kg 15 repetitions",
    "row cal 12": "row 12 kcal",
    "10 walking lunges each leg": "walking-lunge 10 repetitions",
    "3 sets of 12 ring rows": "ring-row 12 repetitions",
}

# A head line above four stations → seconds an interval, work time, rounds; then the rest.
HEADS = {
    "every minute, 28 min": (60, 40, 7),
    "EMOM 20": (60, 40, 5),
    "every 2:00, 5 rounds": (120, 80, 5),
    "every 90 s for 18 min": (90, 60, 3),
    "alle 2 min, 16 Minuten": (120, 80, 2),
    "10 rounds of 0:30 on, 1:30 off": (120, 30, 10),
    "40 s on / 20 s off x 6": (60, 40, 6),
    "1 min on 1 min off x 10": (120, 60, 10),
    "40/20 x 8 rounds": (60, 40, 8),
    "5 rounds, 20 minutes in all": (60, 40, 5),
    "45 sec work, 15 sec rest, 6 rounds": (60, 45, 6),
    "in pairs, in turns, every minute, 32 min": (60, 40, 4),
    "4 rounds for time, 20 min cap": (60, 40, 4),
    "as many rounds as fit in 12 min": (60, 40, 1),
    "AMRAP 12": (60, 40, 1),
}
FORMATS = {
    "4 rounds for time, 20 min cap": ("for_time", 1200),
    "3 rounds for time": ("for_time", 1800),  # where no cap is written; ours
    "as many rounds as fit in 12 min": ("as_many", 720),
    "12 minute amrap": ("as_many", 720),
    "AMRAP 12": ("as_many", 720),
}


@pytest.fixture(scope="module")
def names() -> Names:
    return NAMES


@pytest.mark.parametrize(("line", "stations"), STATIONS.items(), ids=STATIONS)
def test_a_station_is_read_as_coaches_read_it(names, line, stations):
    reading = read(line, names)
    assert brief(reading.document) == stations
    assert reading.unread == []


@pytest.mark.parametrize(("line", "clock"), HEADS.items(), ids=HEADS)
def test_the_clock_is_read_as_coaches_read_it(names, line, clock):
    reading = read(f"{line}\n12 cal row\n5 pull-ups\n10 push-ups\n15 air squats", names)
    document = reading.document
    windows = {station["work_window_s"] for station in document["stations"]}
    assert (document["interval_s"], *windows, document["rotations"]) == clock
    assert len(document["stations"]) == 4
    assert reading.unread == []


@pytest.mark.parametrize(("line", "found"), FORMATS.items(), ids=FORMATS)
def test_what_is_done_for_time_or_for_rounds_is_told_apart(names, line, found):
    document = read(f"{line}\n12 cal row\n5 pull-ups", names).document
    assert (document["format"], document["limit_s"]) == found


def test_there_are_enough_of_them():
    assert len(STATIONS) + len(HEADS) >= 60
