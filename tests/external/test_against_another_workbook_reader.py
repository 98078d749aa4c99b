"""Workbooks that are written here, opened by a library that shares no code with what wrote them (calamine, in Rust)."""

from datetime import date

import pytest
from python_calamine import CalamineWorkbook

from athletes.exporting.tables import xlsx_file
from athletes.importing.sheets.reading import open_table

COLUMNS = ["name", "value", "day", "note"]
ROWS = [
    ["Élise Ø", 462.3, date(2025, 11, 3), "two\nlines"],
    ["=HYPERLINK(1)", -3.5, None, "+1"],
    ["@x", 7, date(1999, 12, 31), "-1 and \x07 a bell"],
]


@pytest.fixture
def sheet() -> list[list]:
    with xlsx_file(COLUMNS, ROWS, "Efforts") as file:
        book = CalamineWorkbook.from_filelike(file)
    assert book.sheet_names == ["Efforts"]
    return book.get_sheet_by_name("Efforts").to_python()


def test_numbers_stay_numbers_dates_dates_and_text_text(sheet):
    assert sheet[0] == COLUMNS
    assert sheet[1] == ["Élise Ø", 462.3, date(2025, 11, 3), "two\nlines"]
    assert [row[1] for row in sheet[1:]] == [462.3, -3.5, 7]


def test_no_cell_is_a_formula(sheet):
    assert sheet[2] == ["'=HYPERLINK(1)", -3.5, "", "'+1"]
    assert sheet[3][0] == "'@x"
    assert sheet[3][3] == "'-1 and  a bell"


def test_both_readers_see_the_same_text(sheet):
    with xlsx_file(COLUMNS, ROWS, "Efforts") as file:
        seen = [cells for _, cells in open_table(file.read()).rows()]
    as_text = [[str(cell).removeprefix("'") for cell in row] for row in sheet]
    assert seen == [[cell.removesuffix(".0") for cell in row] for row in as_text]
