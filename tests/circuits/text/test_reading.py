"""Text → circuit → text keeps what is meant, and nothing that is typed is lost or raises."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.circuits.text.reading import read
from sessions.circuits.text.writing import write
from tests.circuits.text.whiteboard import KNOWN, NAMES, brief

SHEET = """every minute, 27 min
12-14 cal row
5-7 strict pull-ups, or band pull-ups, or 11 ring rows
18 air squats in 40 s"""

PLAIN = st.text(st.characters(categories=["L", "N", "P", "S", "Zs"]), max_size=30).map(str.strip)
FIGURES = st.integers(100, 30_000).map(lambda n: n / 100)


@st.composite
def options(draw):
    movement = draw(st.sampled_from(KNOWN))
    kind = draw(st.sampled_from(movement.dose_kinds))
    low, high = sorted([draw(FIGURES), draw(FIGURES)])
    option = {"movement": movement.slug, "dose_kind": kind, "dose": high, "least_dose": None}
    option |= {"load_kg": None, "percent": None, "reserve": None}
    if low < high and draw(st.booleans()):
        option["least_dose"] = low
    if kind == "load_repetitions":
        way = draw(st.sampled_from(["load_kg", "percent", "reserve"]))
        option[way] = draw(FIGURES if way == "load_kg" else st.integers(1, 10).map(float))
    return option


@st.composite
def documents(draw):
    stations = st.lists(
        st.fixed_dictionaries(
            {
                "work_window_s": st.integers(5, 300),
                "note": PLAIN,
                "closed": st.booleans(),
                "options": st.lists(options(), min_size=1, max_size=5),
            }
        ),
        min_size=1,
        max_size=8,
    )
    timing = draw(st.sampled_from(["", "for_time", "as_many"]))
    document = {
        "name": draw(PLAIN),
        "interval_s": draw(st.integers(20, 900)),
        "rotations": draw(st.integers(1, 40)),
        "partners": draw(st.sampled_from([1, 2])) if not timing else 1,
        "headroom": draw(st.none() | st.integers(0, 600).map(lambda n: n / 1000)),
        "scaling": draw(st.sampled_from(["dose", "rounds"])) if not timing else "dose",
        "open_last": draw(st.booleans()) if not timing else False,
        "notes": "\n".join(draw(st.lists(PLAIN.filter(bool), max_size=3))),
        "stations": draw(stations),
    }
    limits = st.integers(60, 3600)
    if timing == "as_many":
        limits |= st.none()
    return document | ({"format": timing, "limit_s": draw(limits)} if timing else {})


@given(document=documents())
def test_a_document_written_as_text_is_read_as_the_same(document):
    reading = read(write(document, NAMES), NAMES)
    assert reading.document == document
    assert reading.unread == []


@given(text=st.text(max_size=200))
def test_nothing_that_is_typed_raises(text):
    read(text, NAMES)


FIGURES_TYPED = st.from_regex(
    r"[0-9]{1,4}([.,][0-9]{1,3})?|[0-9]{90,260}|0\.0*[1-9]|[0-9]{1,2}:[0-9]{2}", fullmatch=True
)
UNITS_TYPED = st.sampled_from(
    [
        "s",
        "min",
        "m",
        "km",
        "kcal",
        "kg",
        "%",
        "rounds",
        "rounds of",
        "sets",
        "every",
        "on",
        "off",
        "rest",
        "cap",
        "for",
    ]
    + ["in", "x", "-", "/", ",", "or", "as many rounds as fit in", "for time", "in reserve", "row", "burpees", "\n"]
)


@given(words=st.lists(FIGURES_TYPED | UNITS_TYPED, max_size=24))
def test_no_number_raises_wherever_it_stands(words):
    read(" ".join(words), NAMES)


@pytest.mark.parametrize(
    "text",
    [
        "every 0.3 s, 10 min\n10 burpees",
        "10 rounds of 0.2 s on, 0.2 s off, 10 min\n10 burpees",
        f"every {'9' * 100} s\n{'9' * 250} rounds\n10 burpees",
        "10 min\n0 m row, rest 0.3 s",
        "in 5 " * 60,
    ],
)
def test_numbers_that_cannot_be_meant_are_said_and_take_no_effect(text):
    reading = read(text, NAMES)
    assert 1 <= reading.document["interval_s"] <= 10**6
    assert 1 <= reading.document["rotations"] <= 10**6


def test_a_time_below_a_second_is_not_understood():
    reading = read("every 0.3 s, 10 min\n10 burpees", NAMES)
    assert reading.unread == ["every 0.3 s"]
    assert (reading.document["interval_s"], reading.document["rotations"]) == (60, 10)


@given(
    words=st.lists(
        st.sampled_from(
            [
                "12",
                "-",
                "x",
                "/",
                "or",
                ",",
                ":",
                ";",
                "every",
                "min",
                "rounds",
                "rest",
                "s",
                "cal",
                "row",
                "5",
                "%",
                "at",
                "kg",
                "pull-ups",
                "in",
                "on",
            ]
        )
    )
)
def test_our_own_words_in_any_order_raise_nothing(words):
    line = " ".join(words)
    [*lines] = read(line, NAMES).lines
    assert [one.text for one in lines] == ([line] if line else [])


def test_the_sheet_of_a_good_week():
    reading = read(SHEET, NAMES)
    assert brief(reading.document).count(" + ") == 2
    assert (reading.document["interval_s"], reading.document["rotations"]) == (60, 9)
    assert reading.lines[0].said == "3 stations × 9 rounds, a minute each"
    assert reading.lines[3].said == "18 Air squat · by 0:40"
    assert [line.stations for line in reading.lines] == [[], [0], [1], [2]]


def test_minutes_that_are_no_whole_rounds_are_said_and_the_nearest_offered():
    [remark] = read("every minute, 25 min\n12 cal row\n5 pull-ups\n9 push-ups", NAMES).lines[0].remarks
    assert remark.says == "25 min are 8.3 rounds: taken as 8."
    assert [offer.text for offer in remark.offers] == ["24 min", "27 min"]


def test_a_typo_is_read_by_a_guess_that_is_said():
    line = read("10 burpes", NAMES).lines[0]
    [remark] = line.remarks
    assert (remark.says, remark.unread, line.text[remark.start : remark.end]) == ("read as: Burpee", False, "burpes")


def test_words_that_may_be_several_movements_offer_the_others():
    [remark] = read("10 squats", NAMES).lines[0].remarks
    assert remark.says == "read as: Air squat"
    assert "Back squat" in [offer.text for offer in remark.offers]


@pytest.mark.parametrize(
    "line", ["10 barbell rows at 40 kg", "5 weighted pull-ups", "8 front squats at 60 kg", "10 log hops"]
)
def test_another_movement_is_never_taken_for_one_that_is_near(line):
    reading = read(line, NAMES)
    [remark] = reading.lines[0].remarks
    assert remark.unread
    assert remark.movement in line
    [option] = reading.document["stations"][0]["options"]
    assert option["movement"] == remark.movement  # its words keep their place


@pytest.mark.parametrize(
    ("text", "unread"),
    [
        ("12 cal row\nhave fun", ["have fun"]),
        ("21-15-9 thrusters", ["21-15-9", "thrusters"]),
        ("12 cal row, or run", ["run"]),
        ("12 cal", ["12 cal"]),
        ("rest 1 min", ["rest 1 min"]),
        ("10 box jumps + 10 burpees", ["+"]),
        ("12 cal row §", ["§"]),
        ("12 cal row @ 1:55 pace", ["@ 1:55"]),
        ("20 wall balls 9/6", ["9/6"]),
        ("10 box jumps 24/20", ["24/20"]),
        ("5 back squats at 100 kg at 80 %", ["at 80 %"]),
    ],
)
def test_what_is_not_understood_is_given_back_word_by_word(text, unread):
    assert read(text, NAMES).unread == unread


def test_cues_stay_with_their_station():
    document = read(
        "16 kb swings 24/16, crisp hips\n12 cal row (long strokes)\n5 pull-ups; chest up, ribs down", NAMES
    ).document
    assert [station["note"] for station in document["stations"]] == [
        "crisp hips",
        "long strokes",
        "chest up, ribs down",
    ]


@pytest.mark.parametrize(
    ("line", "note"),
    [
        ("50 double-unders unbroken", "unbroken"),
        ("6 strict pull-ups, or 10 ring rows", "strict"),
        ("10 walking lunges each side", "each side"),
        ("12 cal row on the erg", ""),
    ],
)
def test_how_it_is_done_stays_as_a_cue(line, note):
    reading = read(line, NAMES)
    assert [station["note"] for station in reading.document["stations"]] == [note]


def test_name_notes_and_the_rest_of_a_circuit():
    head = ['"Mill race"', "in pairs, in turns", "15 % left", "last round: as far as it goes", "rounds give way"]
    text = "\n".join([*head, "note: warm up long", "12 cal row"])
    document = read(text, NAMES).document
    names = ("name", "partners", "headroom", "open_last", "scaling", "notes")
    assert [document[name] for name in names] == ["Mill race", 2, 0.15, True, "rounds", "warm up long"]


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("in pairs, in turns", "In pairs needs the clock"),
        ("last round open", "An open last round needs the clock"),
        ("rounds give way", "Rounds give way on the clock only"),
    ],
)
@pytest.mark.parametrize("timing", ["4 rounds for time", "as many rounds as fit in 12 min"])
def test_what_needs_the_clock_is_refused_where_it_stands_and_not_dropped_in_silence(said, words, timing):
    reading = read(f"{said}\n{timing}\n12 cal row", NAMES)
    [remark] = reading.lines[0].remarks
    assert remark.says.startswith(words)
    assert reading.unread == [said]
    assert not any(words.lower() in line.said for line in reading.lines)
    assert reading.document["partners"] == 1
    assert read(f"{said}\nevery minute, 4 rounds\n12 cal row", NAMES).unread == []


def test_minutes_and_sets_make_the_interval_and_nothing_is_said_that_nobody_wrote():
    reading = read("in pairs\n20 min\n2 x 12 cal row\n10 burpees\n8 pull-ups", NAMES)
    assert not any(line.remarks for line in reading.lines)
    assert (reading.document["rotations"], reading.document["interval_s"]) == (2, 100)


def test_minutes_that_rounds_and_interval_contradict_are_said_not_to_count():
    [_, line, *_] = read("every 2:00, 4 rounds\n20 min\n12 cal row", NAMES).lines
    [remark] = line.remarks
    assert remark.says == "4 rounds, every 2:00, are 8 min: 20 min does not count."
    assert [offer.label for offer in remark.offers] == ["8 min"]


def test_other_parts_of_a_class_are_kept_as_notes():
    reading = read("warm-up: 5 min easy\n12 cal row\nx 8", NAMES)
    assert (reading.document["notes"], reading.document["rotations"]) == ("warm-up: 5 min easy", 8)
    assert reading.unread == []


def test_what_is_meant_is_kept_as_a_note():
    for line in (
        "hard; sets unbroken, a third of each minute left",
        "meant: hard; sets unbroken, a third of each minute left",
    ):
        reading = read(f"12 cal row\n{line}", NAMES)
        assert reading.document["notes"] == "meant: hard; sets unbroken, a third of each minute left"
        assert reading.lines[1].said == "what is meant"


def test_rest_after_a_dose_makes_the_interval():
    document = read("row 0:30, rest 1:30\n5 rounds", NAMES).document
    assert (document["interval_s"], document["stations"][0]["work_window_s"], document["rotations"]) == (120, 30, 5)


def test_pounds_are_kept_in_kilograms():
    [option] = read("10 goblet squats at 44 lb", NAMES).document["stations"][0]["options"]
    assert option["load_kg"] == pytest.approx(44 * 0.45359237, abs=0.005)


def test_a_very_long_text_is_read_to_its_limits():
    reading = read("12 cal row " * 100 + "\n" + "row 12 cal\n" * 500, NAMES)
    assert [line.kind for line in reading.lines] == ["station"] * 400 + ["unread"] * 101
    assert "not read" in reading.lines[400].remarks[0].says
    assert "too long" in reading.lines[0].remarks[-1].says
