"""Text and the gym's own movements: over the API, and movements that are made in place."""

import pytest

from athletes.models import Movement
from athletes.movements.write import movement_guess, movement_make
from sessions.circuits.document import CircuitSerializer
from sessions.circuits.whiteboard import reading_of, text_of
from tests import gym

SHEET = "every minute, 27 min\n12-14 cal row, or bike\n5-7 strict pull-ups, or 11 ring rows\n10 goblet squats at 24 kg"


def test_what_is_read_can_be_kept_as_it_is(furnished):
    reading = reading_of(f"name: Mill race\n{SHEET}")
    serializer = CircuitSerializer(data=reading.document)
    assert serializer.is_valid(), serializer.errors
    assert serializer.validated_data["rotations"] == 9


def test_a_saved_circuit_is_written_as_a_coach_would(furnished):
    assert text_of(gym.DOCUMENT).splitlines() == [
        "name: Mill race",
        "every minute, 5 rounds, 45 s work",
        "8-15 cal Row, or 12 cal Bike",
        "4-8 Pull up, or 4-12 Ring row in 40 s; chest to the bar",
        "10 Goblet squat at 24 kg",
    ]


def test_the_api_reads_text(furnished, staff_client):
    sent = {"text": "every minute, 27 min\n12-14 cal row\n10 log hops\n18 pull-ups in 40 s"}
    answer = staff_client.post("/api/v1/circuits/read/", sent, content_type="application/json").json()
    assert answer["unread"] == ["log hops"]
    assert (answer["circuit"]["interval_s"], answer["circuit"]["rotations"]) == (60, 9)
    first, second, _ = answer["circuit"]["stations"]
    assert first["options"][0] | {"dose": 14, "least_dose": 12, "movement": "row"} == first["options"][0]
    assert second["options"][0]["movement"] == "log hops"
    [remark] = answer["remarks"]
    assert (remark["line"], remark["text"], remark["says"]) == (3, "log hops", "No “log hops” here yet.")


def test_the_api_says_who_may_read_and_how_much(furnished, client, staff_client):
    assert client.post("/api/v1/circuits/read/", {"text": "x"}, content_type="application/json").status_code in (
        401,
        403,
    )
    assert staff_client.post("/api/v1/circuits/read/", {}, content_type="application/json").status_code == 400
    long = {"text": "x" * 10_001}
    assert staff_client.post("/api/v1/circuits/read/", long, content_type="application/json").status_code == 400


def test_the_schema_has_it(furnished, staff_client):
    paths = staff_client.get("/api/v1/schema/?format=json").json()["paths"]
    assert "post" in paths["/api/v1/circuits/read/"]


def test_reading_asks_the_database_once(furnished, django_assert_num_queries):
    with django_assert_num_queries(1):
        reading_of(SHEET)


def test_other_names_are_known(furnished):
    Movement.objects.filter(slug="goblet-squat").update(other_names="KH-Kniebeuge, front hold squat")
    [station] = reading_of("10 front-hold squats at 20 kg").document["stations"]
    assert station["options"][0]["movement"] == "goblet-squat"


@pytest.mark.parametrize(
    ("name", "dose_kind", "kind", "paced"),
    [
        ("log hops", "repetitions", "repetitions", True),
        ("barbell row", "load_repetitions", "loaded", False),
        ("front squat", "load_repetitions", "loaded", False),
        ("hollow hold", "seconds", "hold", False),
        ("spin bike", "kcal", "engine", False),
        ("shuttle run", "metres", "engine", False),
        ("sandbag drag", "metres", "repetitions", False),
        ("zercher something", "repetitions", "repetitions", False),
    ],
)
def test_a_movement_is_made_from_its_name_and_how_it_is_written(furnished, name, dose_kind, kind, paced):
    made, guess = movement_make(name=name, dose_kind=dose_kind)
    made.refresh_from_db()
    assert (made.kind, made.paced) == (kind, paced)
    made.full_clean()
    assert reading_of(f"10 {name}").document["stations"][0]["options"][0]["movement"] == made.slug
    assert guess.words


def test_a_movement_takes_after_the_nearest_one_of_the_gym(furnished):
    Movement.objects.filter(slug="goblet-squat").update(seconds_per_repetition=3.1, involvement={"squat": 1})
    guess = movement_guess(name="front squat", dose_kind="load_repetitions")
    assert (guess.like, guess.seconds_per_repetition, guess.involvement) == ("Goblet squat", 3.1, {"squat": 1})


@pytest.mark.parametrize(
    ("name", "seconds"),
    [
        ("burpee over the box", 5),  # common practice: about 5 s
        ("burpe over the box", 5),
        ("burpee pull-up", 5),
        ("squat clean", 4),  # common practice: 3.5 to 4.5 s
        ("hip thrust", 2.2),  # is one movement
    ],
)
def test_what_is_made_of_several_movements_takes_a_bit_more_than_the_slowest(furnished, name, seconds):
    assert movement_guess(name=name, dose_kind="repetitions").seconds_per_repetition == seconds


def test_what_would_be_made_is_shown_first_with_its_slips_put_right(furnished, coach_client):
    would = coach_client.get("/movements/make/", {"name": "burpe over the box", "dose_kind": "repetitions"}).json()
    assert would == {"name": "Burpee over the box", "mended": True, "seconds": 5, "says": "repetitions"}
    assert not coach_client.get("/movements/make/", {"name": "log hops"}).json()["mended"]
    assert not Movement.objects.filter(name__startswith="Log").exists()
    sent = {"name": "log hop", "dose_kind": "repetitions", "seconds": "2,8"}
    assert coach_client.post("/movements/make/", sent).json()["says"] == "Log hop is made: repetitions, 2.8 s each."
    for wrong in ("quick", "0", "90", "nan", "inf", "-inf", "1e999"):
        assert coach_client.post("/movements/make/", {**sent, "name": "mud hop", "seconds": wrong}).status_code == 422


@pytest.mark.parametrize(
    ("typed", "proposed"),
    [
        ("log hops", "Log hop"),
        ("tuck crunches", "Tuck crunch"),
        ("ring push-ups", "Ring push-up"),
        ("rope presses", "Rope press"),
        ("around the worlds", "Around the worlds"),
        ("plus", "Plus"),
        ("bras", "Bras"),
    ],
)
def test_a_plural_is_only_taken_off_a_known_word(furnished, coach_client, typed, proposed):
    assert coach_client.get("/movements/make/", {"name": typed}).json()["name"] == proposed


def test_a_name_that_a_coach_typed_stays_as_it_is(furnished, coach_client):
    sent = {"name": "log hops", "dose_kind": "repetitions"}
    assert coach_client.post("/movements/make/", sent).json()["name"] == "Log hops"


def test_a_movement_that_is_here_already_is_not_undone(furnished, coach_client):
    answer = coach_client.post("/movements/make/", {"name": "row", "dose_kind": "kcal"}).json()
    assert (answer["says"], "undo" in answer) == ("Row is here already.", False)
    assert not Movement.objects.get(slug="row").archived


def test_making_a_movement_twice_makes_one_and_the_archive_gives_it_back(furnished, coach_client):
    sent = {"name": "log hop", "dose_kind": "repetitions"}
    answer = coach_client.post("/movements/make/", sent).json()
    assert answer["says"] == "Log hop is made: repetitions, 2.6 s each."
    coach_client.post(answer["undo"])
    assert Movement.objects.get(name="Log hop").archived
    coach_client.post("/movements/make/", sent)
    assert not Movement.objects.get(name="Log hop").archived


def test_a_movement_without_a_name_is_refused(furnished, coach_client, staff_client):
    assert coach_client.post("/movements/make/", {"name": " "}).status_code == 422
    assert coach_client.post("/movements/make/", {"name": "x" * 61}).status_code == 422
    assert staff_client.post("/movements/make/", {"name": "log hops"}).status_code == 403
