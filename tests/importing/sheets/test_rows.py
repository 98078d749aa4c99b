from datetime import date

import pytest

from athletes.importing.sheets.dates import Order
from athletes.importing.sheets.names import name_key, turned
from athletes.importing.sheets.rows import understand
from tests.importing.sheets.builders import plan

LONG = ["Athlete", "Benchmark", "Result", "Date"]
DAY = "2025-11-03"


def results(headings: list[str], cells: list[str], **facts) -> list[tuple]:
    says = understand(2, cells, plan(headings, **facts))
    assert not says.problems
    return [(entry.bench, entry.value, entry.repetitions, entry.day) for entry in says.entries]


def reasons(headings: list[str], cells: list[str], **facts) -> list[tuple[str, str]]:
    return [(problem.column, problem.reason) for problem in understand(2, cells, plan(headings, **facts)).problems]


@pytest.mark.parametrize(
    ("name", "typed", "bench", "value", "repetitions"),
    [
        ("2k row", "7:42.3", 1, 462.3, None),
        ("2k row", "7:42,3", 1, 462.3, None),
        ("2k row", "1:55.5/500", 1, 462.0, None),
        ("row 1 min calories", "23", 3, 23.0, None),
        ("Pull-ups", "12", 4, 12.0, None),
        ("back squat", "85x5", 5, 85.0, 5),
        ("back squat", "85", 5, 85.0, 1),
        ("plank", "1:15", 6, 75.0, None),
    ],
)
def test_a_row_for_each_result(name, typed, bench, value, repetitions):
    assert results(LONG, ["Ada Stone", name, typed, DAY]) == [(bench, value, repetitions, date(2025, 11, 3))]


def test_repetitions_of_a_lift_may_have_a_column_of_their_own():
    headings = ["Athlete", "Exercise", "Result", "Reps", "Date"]
    assert results(headings, ["Ada", "Back squat", "85", "5", DAY])[0][1:3] == (85.0, 5)
    assert results(headings, ["Ada", "Pull-ups", "", "12", DAY])[0][1:3] == (12.0, None)


def test_a_row_for_each_athlete_with_days_in_columns_headings_and_once_for_all():
    headings = ["Athlete", "2k row", "2k row date", "Pull-ups 3 Oct 2025", "Back squat 5RM (lbs)", "Date"]
    cells = ["Ada", "7:42", "2025-10-01", "12", "100", DAY]
    found = results(headings, cells)
    assert [day for *_, day in found] == [date(2025, 10, 1), date(2025, 10, 3), date(2025, 11, 3)]
    assert found[2][1:3] == (pytest.approx(45.36, abs=0.01), 5)
    found = results(["Athlete", "2k row"], ["Ada", "7:42"], day=date(2025, 9, 9))
    assert found == [(1, 462.0, None, date(2025, 9, 9))]


def test_a_heading_gives_plain_numbers_their_unit():
    assert results(["Athlete", "2k row (s)"], ["Ada", "462.3"], day=date(2025, 9, 9))[0][1] == 462.3
    assert results(["Athlete", "2k row (min)"], ["Ada", "7,5"], day=date(2025, 9, 9))[0][1] == 450.0
    assert results(["Athlete", "Back squat"], ["Ada", "220"], day=date(2025, 9, 9), load_unit="lb")[0][
        1
    ] == pytest.approx(99.79, abs=0.01)


@pytest.mark.parametrize("text", ["", "-", "–", "n/a", "DNS", "x"])
def test_who_was_not_tested_has_no_result_and_no_problem(text):
    assert results(["Athlete", "2k row", "Date"], ["Ada", text, DAY]) == []


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("DNF", "stopped"),
        ("Stopped at 1500", "stopped"),
        ("injured", "injured"),
        ("could not do it", "could not do it"),
    ],
)
def test_who_has_no_number_is_told_so(text, why):
    [(column, reason)] = reasons(["Athlete", "2k row", "Date"], ["Ada", text, DAY])
    assert (column, reason) == ("2k row", f"No number: {why}. Nothing is kept of it.")


@pytest.mark.parametrize(
    ("typed", "beside", "found"),
    [
        ("5x70kg", "", (70, 5)), ("5x70kg", "5", (70, 5)), ("70kg x 5", "5", (70, 5)),
        ("2x20kg", "5", None), ("70 x 3", "5", None), ("3 x 120", "", (3, 120)),
    ],
)  # fmt: skip
def test_a_load_behind_its_repetitions_is_one_where_a_unit_says_so(typed, beside, found):
    headings, cells = ["Athlete", "Lift", "Load", "Reps", "Date"], ["Ada", "Back squat", typed, beside, DAY]
    if found:
        assert results(headings, cells)[0][1:3] == found
    else:
        assert f"“{typed}” has its own repetitions, and 5 stand beside it." in reasons(headings, cells)[0][1]


def test_minutes_with_a_point_are_as_the_coach_says():
    headings, facts = ["Athlete", "2k row (min)"], {"day": date(2025, 9, 9)}
    for text, seconds, parts in (("8.22", 502, 493.2), ("8,5", 530, 510), ("8", 480, 480)):
        assert results(headings, ["Ada", text], point="seconds", **facts)[0][1] == seconds
        assert results(headings, ["Ada", text], **facts)[0][1] == parts


def test_voided_results_are_left_out():
    headings = [*LONG, "voided"]
    says = understand(2, ["Ada", "2k row", "7:42", DAY, "2025-12-01T10:00:00"], plan(headings))
    assert (says.entries, says.problems, says.empty) == ([], [], 1)
    assert len(results(headings, ["Ada", "2k row", "7:42", DAY, ""])) == 1


@pytest.mark.parametrize(
    ("cells", "column", "reason"),
    [
        (["Ada", "2k row", "fast", DAY], "Result", "“fast” is not understood."),
        (["Ada", "2k row", "7:99", DAY], "Result", "A minute has 60 seconds"),
        (["Ada", "2k row", "0", DAY], "Result", "A result is above zero"),
        (["Ada", "Back squat", "85x0", DAY], "Result", "at least one repetition"),
        (["Ada", "Back squat", "85x9999", DAY], "Result", "No lift has more than 500"),
        (["Ada", "5k swim", "7:42", DAY], "Benchmark", "No benchmark is called “5k swim”."),
        (["Ada", "", "7:42", DAY], "Benchmark", "This result names no benchmark."),
        (["Ada", "2k row", "7:42", ""], "Date", "There is no date for this result."),
        (["Ada", "2k row", "7:42", "2027-01-01"], "Date", "has not come yet"),
        (["Ada", "2k row", "7:42", "1925-11-03"], "Date", "too long ago"),
        (["Ada", "2k row", "7:42", "32/13/2025"], "Date", "is no date"),
        (["", "2k row", "7:42", DAY], "Athlete", "There is no name in this row"),
    ],
)
def test_what_cannot_be_used_is_told_by_its_column(cells, column, reason):
    [(where, why)] = reasons(LONG, cells, order=Order.DAY)
    assert where == column
    assert reason in why


def test_one_bad_cell_does_not_keep_the_others_of_its_row():
    says = understand(2, ["Ada", "7:99", "12"], plan(["Athlete", "2k row", "Pull-ups"], day=date(2025, 9, 9)))
    assert [entry.bench for entry in says.entries] == [4]
    assert [problem.column for problem in says.problems] == ["2k row"]


def test_a_row_shorter_than_the_headings_is_no_problem():
    assert results(["Athlete", "2k row", "Pull-ups"], ["Ada", "7:42"], day=date(2025, 9, 9))[0][0] == 1


def test_facts_of_a_person_are_understood_or_told():
    headings = ["First name", "Last name", "Board", "DOB", "Sex", "Weight (lbs)", "Joined"]
    person = understand(2, ["Ada", "Stone", "Rocket", "3 May 1990", "F", "140", "2024-01-02"], plan(headings)).person
    assert (person.name, person.board) == ("Ada Stone", "Rocket")
    facts = {"born": date(1990, 5, 3), "sex": "female", "body_mass_kg": 63.5, "joined_on": date(2024, 1, 2)}
    assert person.facts == facts
    said = dict(reasons(headings, ["Ada", "", "", "3 May 2030", "often", "1400", "-"]))
    assert set(said) == {"DOB", "Sex", "Weight (lbs)"}
    assert "Write f or m" in said["Sex"]


@pytest.mark.parametrize(("text", "kilograms"), [("72,5", 72.5), ("72 kg", 72.0), ("160lb", 72.57), ("160 lbs", 72.57)])
def test_a_body_mass_may_carry_its_unit(text, kilograms):
    assert understand(2, ["Ada", text], plan(["Name", "Weight"])).person.facts["body_mass_kg"] == kilograms


@pytest.mark.parametrize(("text", "sex"), [("weiblich", "female"), ("Männlich", "male"), ("Femme", "female")])
def test_a_sex_is_understood_in_the_languages_of_the_headings(text, sex):
    assert understand(2, ["Ada", text], plan(["Name", "Geschlecht"])).person.facts["sex"] == sex


def test_names_are_compared_without_case_accents_and_order_of_commas():
    assert name_key("Stone, Élise") == name_key("ÉLISE  Stone") == name_key("elise-stone") == "elise stone"
    assert turned("Stone, Ada") == "Ada Stone"
    assert turned("Stone,") == "Stone,"


@pytest.mark.parametrize(
    ("name", "summary"),
    [("Average", True), ("TOTAL", True), ("Team average", True), ("Average (men)", True), ("Durchschnitt", True),
     ("Max", False), ("Max Total", True), ("Mina Totaler", False), ("", False)],
)  # fmt: skip
def test_rows_that_sum_up_others_are_known(name, summary):
    says = understand(9, [name, "7:42"], plan(["Athlete", "2k row"], day=date(2025, 9, 9)))
    assert says.sums_up == summary
    assert not (summary and (says.entries or says.problems))


def test_the_headings_once_more_are_nobody():
    says = understand(40, ["Athlete", "2K Row"], plan(["Athlete", "2k row"], day=date(2025, 9, 9)))
    assert (says.person, says.entries, says.problems) == (None, [], [])


def test_a_load_has_its_own_column_unit_and_repetitions():
    headings = ["Athlete", "Lift", "Weight", "Unit", "Reps", "Date"]
    assert results(headings, ["Ada", "Back squat", "185 lb", "", "3", DAY])[0][1:3] == (
        pytest.approx(83.91, abs=0.01),
        3,
    )
    assert results(headings, ["Ada", "Back squat", "100", "kg", "5", DAY])[0][1:3] == (100.0, 5)
    assert results(headings, ["Ada", "Pull-ups", "0", "kg", "12", DAY])[0][:2] == (4, 12.0)
    [(column, why)] = reasons(headings, ["Ada", "Pull-ups", "20", "kg", "5", DAY])
    assert (column, "with a load is another test" in why) == ("Weight", True)


def test_the_unit_beside_a_load_is_not_that_of_the_body_mass():
    headings = ["Name", "Body mass", "Lift", "Weight", "Unit", "Reps", "Date"]
    says = understand(2, ["Ada", "81", "Back squat", "132", "lb", "5", DAY], plan(headings))
    assert says.person.facts == {"body_mass_kg": 81.0}
    assert [(round(entry.value, 1), entry.repetitions) for entry in says.entries] == [(59.9, 5)]


@pytest.mark.parametrize(
    ("headings", "cells", "advice"),
    [
        (["Name", "Lift", "Set", "Reps"], ["Ada", "Back squat", "81", "5"], "“load of a lift”. One of these? “Set”."),
        (["Name", "Lift", "Reps"], ["Ada", "Back squat", "5"], "No column holds it. Add one in the file."),
        (["Name", "Lift", "Load", "Reps"], ["Ada", "Back squat", "", "5"], "and no load. Add the load in the file."),
        (["Name", "Test", "Reps"], ["Ada", "2k row", "5"], "and no result. No column holds it."),
    ],
)
def test_repetitions_are_never_taken_for_a_load_or_a_time(headings, cells, advice):
    says = understand(2, cells, plan(headings, day=date(2025, 9, 9)))
    assert not says.entries
    assert advice in says.problems[0].reason


def test_repetitions_beside_the_loads_of_a_lift_are_its_own():
    headings = ["Name", "Back squat (lb)", "Back squat reps", "Pull-ups"]
    found = results(headings, ["Ada", "185", "3", "12"], day=date(2025, 9, 9))
    assert [entry[2] for entry in found] == [3, None]
    headings = ["Name", "Back squat 2025-06-02", "Reps", "Back squat 2025-09-09", "Reps"]
    found = results(headings, ["Ada", "80", "5", "85", "3"])
    assert [entry[1:3] for entry in found] == [(80, 5), (85, 3)]


@pytest.mark.parametrize(
    ("headings", "cells", "once"),
    [
        (["Name", "Back squat"], ["Ada", "80"], True),
        (["Name", "Back squat", "Reps"], ["Ada", "80", "-"], True),
        (["Name", "Back squat", "Reps"], ["Ada", "80", "1"], False),
        (["Name", "Back squat 1RM"], ["Ada", "80"], False),
        (["Name", "Back squat"], ["Ada", "80 kg x 1"], False),
        (["Name", "Lift", "Load"], ["Ada", "Back squat", "80"], True),
        (["Name", "Pull-ups"], ["Ada", "12"], False),
    ],
)
def test_a_lift_without_repetitions_counts_as_one_and_is_known_to(headings, cells, once):
    [entry] = understand(2, cells, plan(headings, day=date(2025, 9, 9))).entries
    assert (entry.once, entry.repetitions == 1) == (once, cells[-1] != "12")


def test_loads_with_their_repetitions_are_in_the_unit_that_was_said_too():
    found = results(["Athlete", "Back squat"], ["Ada", "185x5"], day=date(2025, 9, 9), load_unit="lb")
    assert found[0][1:3] == (pytest.approx(83.91, abs=0.01), 5)


def test_a_load_whose_unit_nobody_says_is_not_guessed():
    [(column, why)] = reasons(["Athlete", "Back squat"], ["Ada", "185"], day=date(2025, 9, 9), load_unit="")
    assert (column, why) == ("Back squat", "Kilograms or pounds? Say so in the file, or above for all.")


def test_hours_of_a_spreadsheet_are_minutes_where_the_coach_says_so():
    facts = {"day": date(2025, 9, 9), "clock": "minutes"}
    assert results(["Athlete", "500 m row"], ["Ada", "1:41:00"], **facts)[0][1] == 101
    [(_, why)] = reasons(["Athlete", "500 m row"], ["Ada", "1:41:30"], **facts)
    assert "Mend it in the file, like 1:41 or 1:41.3." in why
