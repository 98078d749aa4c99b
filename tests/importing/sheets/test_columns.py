from dataclasses import replace

import pytest

from athletes.importing.sheets.benches import Bench, Benches
from athletes.importing.sheets.columns import (
    clock_in,
    columns_of,
    day_in,
    days_of,
    heading_row,
    headings_at,
    letter,
    of_one_benchmark,
    point_in,
    proposed,
    unit_of,
)
from athletes.importing.sheets.headings import Use
from tests.importing.sheets.builders import BENCHES, TODAY, benches


@pytest.mark.parametrize(
    ("heading", "use"),
    [
        ("Athlete", "name"), ("Full Name", "name"), ("MEMBER", "name"), ("First name", "first"), ("Surname", "last"),
        ("Name on the board", "board"), ("Who", "name"),
        ("What", "benchmark"), ("DOB", "born"), ("Date of birth", "born"), ("Gender", "sex"),
        ("Weight (lbs)", "mass"), ("body mass [kg]", "mass"), ("Member since", "joined"), ("Exercise", "benchmark"),
        ("Score", "result"), ("Reps", "repetitions"), ("Test date", "day"), ("voided", "voided"), ("Shoe size", ""),
        ("2k row", "result:1"), ("2000m Rowing (min)", "result:1"), ("Row 2 km", "result:1"), ("500m row", "result:2"),
        ("60s row cals", "result:3"), ("Row 1 minute calories", "result:3"), ("Pullups", "result:4"),
        ("Pull-Ups (max)", "result:4"), ("Back Squat 1RM (kg)", "result:5"), ("back squat 5-RM", "result:5"),
        ("Plank sec", "result:6"), ("1.5k run", "result:7"), ("2k row date", "day:1"), ("Date 500 m row", "day:2"),
        ("2k row 2025-11-03", "result:1"), ("3000 m row", ""), ("Row", ""), ("", ""),
        ("Body mass kg", "mass"), ("Weight lb", "mass"), ("Weight in kg", "mass"), ("body_mass_kg", "mass"),
        ("Datum", "day"), ("Geburtsdatum", "born"), ("Gewicht (kg)", "mass"), ("Körpergewicht kg", "mass"),
        ("Ergebnis", "result"), ("Vorname", "first"), ("Nachname", "last"), ("Geschlecht", "sex"),
        ("Übung", "benchmark"), ("Nom", "name"), ("PRÉNOM", "first"), ("Date de naissance", "born"),
        ("Né(e) le", "born"), ("Poids", "mass"), ("Résultat", "result"), ("Fecha", "day"),
        ("Fecha de nacimiento", "born"), ("Apellidos", "last"),
        ("Peso kg", "mass"), ("Data de nascimento", "born"), ("Repetições", "repetitions"), ("Exercício", "benchmark"),
    ],
)  # fmt: skip
def test_headings_are_recognised_by_their_words(heading, use):
    assert columns_of([heading], benches())[0].use == use


def test_a_fact_of_a_person_is_taken_once_and_a_benchmark_as_often_as_it_comes():
    columns = columns_of(["Name", "Athlete", "2k row Jan", "2k row Jun"], benches())
    assert [column.use for column in columns] == ["name", "", "result:1", "result:1"]


@pytest.mark.parametrize(
    ("headings", "uses"),
    [
        (["Name", "Vorname"], ["last", "first"]),
        (["Prénom", "Nom"], ["first", "last"]),
        (["Nombre", "Apellidos"], ["first", "last"]),
        (["Nome", "Sobrenome"], ["first", "last"]),
        (["Athlete", "First name"], ["name", "first"]),
        (["Name", "First name", "Last name"], ["name", "first", "last"]),
    ],
)
def test_half_a_name_is_not_taken_for_the_whole(headings, uses):
    assert [column.use for column in columns_of(headings, benches())] == uses


def test_what_a_coach_said_goes_before_the_guess():
    columns = columns_of(["Athlete", "2k row"], benches(), ["", "name"])
    assert [column.use for column in columns] == ["", "name"]
    assert benches(**{"The Monster": 3}).find("the  MONSTER").pk == 3
    assert benches().find("The Monster") is None


def test_units_days_and_repetitions_are_read_from_the_heading():
    assert [unit_of(heading) for heading in ("Squat (lbs)", "Weight lb", "Plank sec", "Squat", "kg", "min")] == [
        "lb", "lb", "s", "", "kg", "",
    ]  # fmt: skip
    assert day_in("2k row (3.11.2025)") == "3.11.2025"
    assert day_in("2k row 3 Nov 2025") == "3 Nov 2025"
    assert day_in("2k row") == ""
    assert columns_of(["Back squat 5RM"], benches())[0].repetitions == 5


def test_the_row_with_the_headings_is_found_below_titles():
    rows = [(1, ["Tests of autumn", ""]), (3, ["Athlete", "2k row"]), (4, ["Ada Stone", "7:42"])]
    assert heading_row(rows, benches()) == 3
    assert heading_row([(2, ["who", "what"]), (3, ["Ada", "7:42"])], benches()) == 2


def test_a_column_without_a_heading_is_called_by_its_letter():
    assert [letter(index) for index in (0, 25, 26, 701)] == ["A", "Z", "AA", "ZZ"]
    assert columns_of(["", ""], benches())[1].title == "column B"
    assert columns_of(["x"], benches())[0].use == Use.NOTHING


@pytest.mark.parametrize(
    ("headings", "uses"),
    [
        ("Name|Lift|Weight|Reps", "name benchmark load repetitions"),
        ("Name|Body mass (kg)|Lift|Weight|Unit|Reps", "name mass benchmark load unit repetitions"),
        ("Name|Lift|Reps|Unit|Wt|BW", "name benchmark repetitions unit load mass"),
        ("Weight|Reps|Lift|Name", "load repetitions benchmark name"),
        ("Name|Weight|Weight|Lift|Reps", "name mass load benchmark repetitions"),
        ("Name|Weight|Lift|Weight (lb)|Reps", "name mass benchmark load repetitions"),
        ("Name|Weight|Lift|Load|Reps", "name mass benchmark load repetitions"),
        ("Name|Lift|kg|lb|Reps", "name benchmark load - repetitions"),
        ("Name|Lift|1RM", "name benchmark load"),
        ("Name|Körpergewicht|Übung|Gewicht (kg)|Wdh", "name mass benchmark load repetitions"),
        ("First|Last|Lift|Weight|Reps", "first last benchmark load repetitions"),
        ("Vorname|Name|Übung|Last|Wdh", "first last benchmark load repetitions"),
        ("Name|Lift|Reps", "name benchmark repetitions"),
        ("Name|Sex|Weight", "name sex mass"),
        ("Name|kg|Back squat", "name - result:5"),
    ],
)
def test_weight_beside_lifts_is_what_was_lifted(headings, uses):
    assert " ".join(column.use or "-" for column in columns_of(headings.split("|"), benches())) == uses


@pytest.mark.parametrize(
    ("headings", "uses"),
    [
        ("Name|Back squat (kg)|Back squat reps|Pull-ups reps", "name result:5 repetitions:5 result:4"),
        ("Name|Back squat|Reps|2k row|Reps", "name result:5 repetitions:5 result:1 -"),
        ("Name|Wdh Back squat|Back squat|Weight", "name repetitions:5 result:5 mass"),
    ],
)
def test_repetitions_of_a_lift_are_no_loads_of_it(headings, uses):
    assert " ".join(column.use or "-" for column in columns_of(headings.split("|"), benches())) == uses


def test_a_second_row_of_headings_says_in_what_is_counted():
    rows = [(2, ["Name", "Back squat", "", "2k row"]), (3, ["", "kg", "reps"]), (4, ["Ada", "60", "5"])]
    for number in (2, 3):  # as it is guessed, and as a coach may say
        assert headings_at(rows, number) == (3, ["Name", "Back squat (kg)", "Back squat (reps)", "2k row"])
    uses = [column.use for column in columns_of(headings_at(rows, 2)[1], benches())]
    assert uses == ["name", "result:5", "repetitions:5", "result:1"]
    assert headings_at([rows[0], rows[2]], 2) == (2, ["Name", "Back squat", "", "2k row"])


def test_columns_headed_by_days_hold_the_one_benchmark_of_the_sheet():
    columns = days_of(columns_of(["Name", "2026-03-02", "Jun 1, 2026", "Paid 2026-03-02"], benches()), 1)
    assert [(column.use, column.day) for column in columns[1:]] == [
        ("result:1", "2026-03-02"), ("result:1", "Jun 1, 2026"), ("", "2026-03-02"),
    ]  # fmt: skip
    assert not of_one_benchmark(columns)
    twice = columns_of(["Name", "2k row", "2000 m row max"], benches())
    assert [[column.heading for column in columns] for columns in of_one_benchmark(twice)] == [
        ["2k row", "2000 m row max"]
    ]


def test_weight_beside_columns_of_lifts_is_asked_about():
    columns = columns_of(["Athlete", "Weight", "Back squat"], benches())
    assert proposed(columns, [], benches(), TODAY) == {1: "mass"}


@pytest.mark.parametrize(
    ("heading", "bench"),
    [("BS 3RM", 5), ("Squat 1RM", 5), ("squats", 5), ("2k", 1), ("500m", 2), ("PU max", 4), ("back sq.", 5),
     ("Kniebeuge", 5), ("1000m", None), ("Press", None)],
)  # fmt: skip
def test_benchmarks_are_known_by_the_words_of_the_trade_and_the_gyms_own(heading, bench):
    own = [replace(one, movement=("Back squat", "Kniebeuge")) if one.pk == 5 else one for one in BENCHES]
    found = Benches([*own, Bench(8, "Front squat", "lift", None, ("Front squat",))]).find(heading)
    assert (found and found.pk) == bench


@pytest.mark.parametrize(
    ("heading", "bench"),
    [("Rudern 2000 m", 1), ("Klimmzüge", 4), ("KLIMMZU\u0308GE (max)", 4), ("Kniebeuge 5RM (kg)", 5),
     ("Bankdrücken", 8), ("Kreuzheben", 9), ("Frontkniebeuge", None)],
)  # fmt: skip
def test_benchmarks_are_known_by_german_words(heading, bench):
    lifts = [Bench(8, "Bench press", "lift", None), Bench(9, "Deadlift", "lift", None)]
    found = Benches([*BENCHES, *lifts]).find(heading)
    assert (found and found.pk) == bench


@pytest.mark.parametrize("heading", ["Kniebeuge", "Squat", "Back squat", "BS 3RM", "Back squat rep max"])
def test_a_rep_max_is_known_by_its_lift_alone(heading):
    lifts = [Bench(1, "Back squat rep-max", "lift", None), Bench(2, "Front squat rep-max", "lift", None)]
    assert Benches(lifts).find(heading).pk == 1


def test_times_that_all_end_in_no_seconds_are_minutes_and_seconds():
    assert clock_in(["1:41:00", "7:02:00", "12"]) == ("minutes", "1:41:00")
    assert clock_in(["1:41:00", "1:02:03.4"]) == ("hours", "1:41:00")
    assert clock_in(["7:42.3"]) == ("hours", "")


def test_minutes_with_a_point_are_seconds_unless_they_go_on_behind_59():
    assert point_in(["8.22", "7,21", "8.5", "12"]) == ("seconds", "8.22")
    assert point_in(["8.22", "7.75"]) == ("hundredths", "")
    assert point_in(["8", "8:22"]) == ("hundredths", "")
