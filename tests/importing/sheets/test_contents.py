import pytest

from athletes.importing.sheets.columns import columns_of, proposed
from tests.importing.sheets.builders import TODAY, benches


def guesses(headings: list[str], *rows: list[str]) -> dict[int, str]:
    numbered = list(enumerate(rows, start=2))
    return proposed(columns_of(headings, benches()), numbered, benches(), TODAY)


@pytest.mark.parametrize(
    ("cells", "use"),
    [
        (["3 Nov 2025", "", "2025-11-05"], "day"),
        (["10/30/2025", "1/2/2025"], "day"),
        (["1991-02-03", "3.4.1988"], "born"),
        (["2k row", "Pull-ups", "-"], "benchmark"),
        (["42", "43.5"], ""),  # of shoes
        (["45964", "45965"], ""),
        (["3 Nov 2025", "later"], ""),
        (["7:42", "8:05"], ""),  # of which benchmark?
        (["", "-"], ""),
    ],
)
def test_a_column_is_proposed_for_what_fills_it(cells, use):
    assert guesses(["Athlete", "???"], *[["Ada", cell] for cell in cells]) == ({1: use} if use else {})


def test_results_are_proposed_beside_the_names_of_their_benchmarks():
    assert guesses(["Athlete", "Test", "???"], ["Ada", "2k row", "7:42"], ["Ada", "Squat", "85x5"]) == {2: "result"}
    assert guesses(["Athlete", "?", "??"], ["Ada", "2k row", "7:42"]) == {1: "benchmark", 2: "result"}


def test_what_a_heading_says_is_not_guessed_again():
    rows = ["Ada", "2025-11-03", "2025-11-04", "2025-11-05"]
    assert guesses(["Athlete", "Date", "Entered", "Shown"], rows) == {}
    assert guesses(["Athlete", "Noted", "Entered"], rows) == {1: "day"}
