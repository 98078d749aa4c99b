"""Lists of people as coaches keep and paste them: any order, any separator, names alone (common practice)."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.efforts import parsing
from athletes.importing.sheets.benches import Bench, Benches
from athletes.importing.sheets.people import MOST_LETTERS, TOO_LONG, Test, Tests, read_people

TODAY = date(2026, 11, 28)
TESTS = Tests(
    [
        Test(Bench(1, "Row 2000 m", "time_for_distance", 2000), ("Row", "rowing ergometer")),
        Test(Bench(2, "Row 500 m", "time_for_distance", 500), ("Row", "rowing ergometer")),
        Test(Bench(3, "Row 1-minute calories", "calories_in_time", 60), ("Row", "rowing ergometer")),
        Test(Bench(4, "Ski 1000 m", "time_for_distance", 1000), ("Ski",)),
        Test(Bench(5, "Pull-up, most unbroken", "repetitions", None), ("Pull-up", "strict pull-up")),
        Test(Bench(6, "Back squat, rep-max", "lift", None), ("Back squat",)),
        Test(Bench(7, "Plank, longest hold", "hold", None), ("Plank",)),
        Test(Bench(8, "Burpee, most in 7:00", "repetitions_in_time", 420), ("Burpee",)),
        Test(Bench(9, "Deadlift, rep-max", "lift", None), ("Deadlift",)),
        Test(Bench(10, "Run 5 km", "time_for_distance", 5000), ("Run",)),
    ]
)


def read(text: str) -> list:
    return read_people(text, TESTS, today=TODAY, day=TODAY)


def facts(line: str) -> dict:
    (found,) = read(line)
    assert not found.problems, found.problems
    return {"name": found.person.name, **found.person.facts}


def results(line: str) -> list:
    (found,) = read(line)
    return [(entry.bench, entry.value, entry.repetitions) for entry in found.entries]


# A line → the person it says. The first column of anyone's list is the name.
PEOPLE = {
    "Nils Ottervang": {"name": "Nils Ottervang"},
    "Nora Holtvarg; f; 1995; 64": {"sex": "female", "born": date(1995, 12, 31), "body_mass_kg": 64},
    "Nora Holtvarg, f, 1995, 64 kg": {"sex": "female", "born": date(1995, 12, 31), "body_mass_kg": 64},
    "Nora Holtvarg,f,1995,64": {"sex": "female", "born": date(1995, 12, 31), "body_mass_kg": 64},
    "Nora Holtvarg\tfemale\t64\t1995": {"sex": "female", "born": date(1995, 12, 31), "body_mass_kg": 64},
    "Nora Holtvarg f 1995 64 kg": {"sex": "female", "born": date(1995, 12, 31), "body_mass_kg": 64},
    "Nora Holtvarg | 64,5 kg | w": {"sex": "female", "body_mass_kg": 64.5},
    "Holtvarg, Nora, f": {"name": "Nora Holtvarg", "sex": "female"},
    "Holtvarg, Nora; f": {"name": "Nora Holtvarg", "sex": "female"},
    "Ben Askelby; m; 44; 91": {"sex": "male", "born": date(1982, 11, 1), "body_mass_kg": 91},
    "Ben Askelby; m; 91": {"sex": "male", "body_mass_kg": 91},
    "Ben Askelby; 31": {"born": date(1995, 11, 1)},
    "Ben Askelby; 200 lb": {"body_mass_kg": 90.72},
    "Ben Askelby; 12.3.1982; 2.2.24": {"born": date(1982, 3, 12), "joined_on": date(2024, 2, 2)},
    "Ines Carvaldez; f; 1999;; 03/25": {"sex": "female", "born": date(1999, 12, 31), "joined_on": date(2025, 3, 1)},
    "Mai Thuyen; f; 1974; 57; 2019": {
        "sex": "female",
        "born": date(1974, 12, 31),
        "body_mass_kg": 57,
        "joined_on": date(2019, 1, 1),
    },
    "Mai Thuyen; since March 2021": {"joined_on": date(2021, 3, 1)},
    "Mai Thuyen; born 1974": {"born": date(1974, 12, 31)},
    "Sam M": {"name": "Sam M"},
    "Sam m": {"name": "Sam", "sex": "male"},
    "Zoë d'Arc-O’Neill; f": {"name": "Zoë d'Arc-O’Neill", "sex": "female"},
}
# A line → benchmark, value in its unit, repetitions.
RESULTS = {
    "A B; row 2k 8:11.4": [(1, 491.4, None)],
    "A B; 2k row 8:11,4": [(1, 491.4, None)],
    "A B; row 500 m 1:45": [(2, 105.0, None)],
    "A B; row 22 kcal in 1:00": [(3, 22.0, None)],
    "A B; ski1000 3:25, 16 pull ups": [(4, 205.0, None), (5, 16.0, None)],
    "A B; 0 pull-ups": [(5, 0.0, None)],
    "A B; pull-ups: 16": [(5, 16.0, None)],
    "A B; squat 55x5": [(6, 55.0, 5)],
    "A B; 55 kg x 5 back squat": [(6, 55.0, 5)],
    "A B; deadlift 120 kg": [(9, 120.0, 1)],
    "A B; deadlift 1RM 120 kg": [(9, 120.0, 1)],
    "A B; plank 1:30": [(7, 90.0, None)],
    "A B; 55 burpees in 7:00": [(8, 55.0, None)],
    "A B; 5k run 24:30": [(10, 1470.0, None)],
    "A B f 1995 16 pull-ups row 2k 8:11": [(5, 16.0, None), (1, 491.0, None)],
    "A B row 2k 8:11": [(1, 491.0, None)],
}


@pytest.mark.parametrize(("line", "says"), PEOPLE.items(), ids=PEOPLE)
def test_a_person_is_read_as_a_coach_means_it(line, says):
    found = facts(line)
    assert found == {"name": found["name"], **says}
    assert found["name"].split()[0] in line


@pytest.mark.parametrize(("line", "says"), RESULTS.items(), ids=RESULTS)
def test_results_are_read_beside_the_name(line, says):
    found = [(bench, pytest.approx(value), repetitions) for bench, value, repetitions in says]
    assert results(line) == found
    assert read(line)[0].person.name == "A B"
    assert not read(line)[0].problems


def test_headings_decide_what_a_column_holds():
    text = "name;sex;born;kg;since;results\nNora Holtvarg;f;1995;64;2.2.24;ski1000 3:25, 16 pull ups\nBen;m;82;91;;"
    nora, ben = read(text)
    assert nora.person.facts["joined_on"] == date(2024, 2, 2)
    assert len(nora.entries) == 2
    assert ben.person.facts["body_mass_kg"] == 91
    assert "joined_on" not in ben.person.facts


def test_headings_of_a_spreadsheet_name_benchmarks_too():
    (nora,) = read("First name\tLast name\t2k row\tPull-ups\tShoe\nNora\tHoltvarg\t8:11.4\t16\t39")
    assert nora.person.name == "Nora Holtvarg"
    assert [entry.bench for entry in nora.entries] == [1, 5]
    assert [problem.column for problem in nora.problems] == ["Shoe 39"]


def test_what_is_not_understood_stands_with_the_line_and_its_reason():
    (found,) = read("Nora Holtvarg; f; bad left knee; row 8:11; deadlift 120")
    said = {problem.column: problem.reason for problem in found.problems}
    assert "kept as a note" in said["bad left knee"]
    assert "Row 2000 m" in said["row 8:11"]  # which of the two
    assert "load and repetitions" in said["deadlift 120"]
    assert found.person.facts == {"sex": "female"}


def test_a_line_without_a_name_asks_for_one():
    (found,) = read("f; 1995")
    assert found.person is None
    assert "name" in found.problems[0].reason


def prose(lines: int, words: int) -> str:
    """Lines in which every word is another one, every third with a figure: nothing can be remembered."""
    return "\n".join(
        " ".join(f"{word}" if word % 3 == 0 else f"w{line}x{'a' * (word % 7)}" for word in range(line, line + words))
        for line in range(lines)
    )


def looks(monkeypatch, text: str) -> int:
    """How often a text is looked up among benchmarks or read as a result."""
    calls = []
    with monkeypatch.context() as patch:
        for place, name in ((Benches, "find"), (parsing, "read")):
            own = getattr(place, name)
            patch.setattr(place, name, lambda *said, own=own: calls.append(said) or own(*said))
        read_people(text, Tests(TESTS._tests), today=TODAY, day=TODAY)
    return len(calls)


def test_the_work_grows_no_faster_than_the_list(monkeypatch):
    some, twice = (looks(monkeypatch, prose(lines, 40)) for lines in (30, 60))
    assert some > 0
    assert twice <= 2.2 * some
    short, long = (looks(monkeypatch, prose(30, words)) for words in (20, 40))
    assert short > 0
    assert long <= 3 * short


def test_a_line_without_end_is_not_searched_and_one_with_separators_loses_nothing(monkeypatch):
    endless = " ".join(f"w{n}" for n in range(2_000))
    assert looks(monkeypatch, endless) == 0
    (found,) = read(endless)
    assert found.person is None
    assert "too long" in found.problems[0].reason
    more = "; ".join(["Nora Holtvarg; f; row 2k 8:11", *(f"word{n}" for n in range(60))])
    assert len(more) > MOST_LETTERS
    (found,) = read(more)
    assert found.person.name == "Nora Holtvarg"
    assert [entry.bench for entry in found.entries] == [1]
    assert found.problems[-1].reason == TOO_LONG
    assert "; ".join(problem.column for problem in found.problems).endswith(
        "; ".join(f"word{n}" for n in range(50, 60))
    )


@given(st.text(max_size=80))
def test_any_text_is_read_without_falling_over(text):
    for found in read(text):
        assert found.person or found.problems
