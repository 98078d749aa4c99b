"""Eight kinds of spreadsheet as gyms keep them, written by libraries that share no code with what reads them:
XlsxWriter for workbooks, Python's csv module for text (RFC 4180).

The names are invented; that spreadsheets look so is common practice. Times of day for minutes and seconds, and serial
numbers for dates (day 1 is 1 January 1900), are how ISO/IEC 29500 stores what people type.
"""

import csv
import io
from datetime import date, datetime, time
from uuid import uuid4

import pytest
import xlsxwriter

from athletes.importing.read import nothing_to_keep
from athletes.importing.write import import_begin, import_check, import_keep
from athletes.models import Athlete, Benchmark, Effort, Import, Movement
from athletes.words import POUND_KG
from tests import gym

SHEETS = dict[str, list[list]]


def workbook(sheets: SHEETS, *, merged: str = "", clock: str = "") -> bytes:
    """`merged` cells of the first sheet hold its first cell; `clock` is the format of times."""
    file = io.BytesIO()
    book = xlsxwriter.Workbook(file, {"in_memory": True})
    dates, times = book.add_format({"num_format": "dd/mm/yyyy"}), book.add_format({"num_format": clock or "h:mm:ss"})
    for name, rows in sheets.items():
        sheet = book.add_worksheet(name)
        for number, row in enumerate(rows):
            for place, cell in enumerate(row):
                if isinstance(cell, datetime):
                    sheet.write_datetime(number, place, cell, dates)
                elif isinstance(cell, time):
                    sheet.write_datetime(number, place, cell, times)
                elif isinstance(cell, tuple):
                    sheet.write_formula(number, place, cell[0], None, cell[1])
                else:
                    sheet.write(number, place, cell)
        if merged:
            sheet.merge_range(merged, rows[0][0])
            merged = ""
    book.close()
    return file.getvalue()


def text(rows: list[list], encoding: str = "utf-8", **dialect) -> bytes:
    file = io.StringIO(newline="")
    csv.writer(file, **dialect).writerows(rows)
    return file.getvalue().encode(encoding)


@pytest.fixture
def tests_of_the_gym(furnished) -> None:
    gym.people(2)
    squat = Movement.objects.create(
        slug="back-squat", name="Back squat", kind="loaded", involvement={"squat": 1}, typical_best=90, other_names="BS"
    )
    Benchmark.objects.create(name="Back squat", slug="back-squat", movement=squat, measure="lift")
    row = Movement.objects.get(slug="row")
    Benchmark.objects.create(name="500 m row", slug="500-m-row", movement=row, measure="time_for_distance", fixed=500)


@pytest.fixture
def bring(tests_of_the_gym, coach):
    """The efforts of a file by name and benchmark, kept with newcomers and questioned rows, read as it is guessed."""

    def to(content: bytes, name: str = "tests.xlsx", **said) -> tuple[Import, dict]:
        source = import_begin(key=uuid4(), filename=name, content=content, by=coach)
        import_check(source=source, parts=[{**part, **said} for part in source.reading["parts"]])
        source.refresh_from_db()
        assert not nothing_to_keep(source), list(source.remarks.values_list("row", "column", "text"))
        wanted = source.remarks.filter(kind="questioned").values_list("pk", flat=True)
        import_keep(source=source, create_athletes=True, wanted=wanted)
        source.refresh_from_db()
        assert source.state == "done", source.failure
        kept = Effort.objects.filter(import_key=source.key).select_related("athlete", "benchmark")
        return source, {(e.athlete.name, e.benchmark.slug): (round(e.value, 2), e.repetitions) for e in kept}

    return to


def test_1_title_rows_and_merged_cells_surnames_first_and_totals_below(bring):
    rows = [
        ["Tests of autumn 2025"], [], ["Name", "Born", "2k row", "Pull-ups", "Date"],
        ["Holtvarg, Nora", "1995-04-02", "8:11.4", 7, datetime(2025, 11, 3)],
        ["Askelby, Ben", "1982-12-01", "7:20", 0, datetime(2025, 11, 3)],
        ["Average", "", "7:45.7", 3.5, ""], ["Total", "", "", ("=SUM(D4:D5)", 7), ""],
    ]  # fmt: skip
    source, kept = bring(workbook({"Autumn": rows}, merged="A1:E1"))
    assert kept == {
        ("Nora Holtvarg", "2000-m-row"): (491.4, None), ("Nora Holtvarg", "pull-ups-unbroken"): (7, None),
        ("Ben Askelby", "2000-m-row"): (440, None), ("Ben Askelby", "pull-ups-unbroken"): (0, None),
    }  # fmt: skip
    assert source.counts["sums"] == 2
    assert not Athlete.objects.filter(name__in=["Average", "Total"]).exists()


def test_2_mixed_kilograms_and_pounds_with_the_unit_in_each_row(bring):
    rows = [
        ["Athlete", "Lift", "Weight", "Unit", "Reps", "Date"],
        ["Nora Holtvarg", "Back squat", 185, "lb", 3, "2025-11-03"],
        ["Ben Askelby", "BS", 120, "kg", 1, "2025-11-03"],
        ["Ida Tornquell", "Squat", "225 lbs", "", 2, "2025-11-03"],
        ["Olaf Brenn", "Back squat", 100, "", 5, "2025-11-03"],
        ["Liv Sandvik", "Back squat", 100, "stone", 5, "2025-11-03"],
    ]
    source, kept = bring(workbook({"Lifts": rows}))
    assert kept == {
        ("Nora Holtvarg", "back-squat"): (round(185 * POUND_KG, 2), 3),
        ("Ben Askelby", "back-squat"): (120, 1),
        ("Ida Tornquell", "back-squat"): (round(225 * POUND_KG, 2), 2),
    }
    assert not Athlete.objects.exclude(body_mass_kg=None).filter(name__in=["Nora Holtvarg", "Ben Askelby"]).exists()
    refused = dict(source.remarks.filter(kind="refused").values_list("row", "text"))
    assert "Kilograms or pounds?" in refused[5]
    assert "“stone” is no unit of a load" in refused[6]


def test_3_three_forms_of_date_and_serial_numbers(bring):
    day = date(2025, 11, 3)
    serial = (day - date(1899, 12, 30)).days
    forms = ["2025-11-03", "3 Nov 2025", "03.11.2025", serial, datetime(2025, 11, 3)]
    rows = [["Athlete", "2k row", "Date"], *([f"Athlete {n}", f"7:{n + 10}", form] for n, form in enumerate(forms))]
    source, kept = bring(workbook({"Dates": rows}))
    assert len(kept) == len(forms)
    assert set(Effort.objects.filter(import_key=source.key).values_list("performed_on", flat=True)) == {day}


@pytest.mark.parametrize("clock", ["h:mm", "h:mm:ss", "mm:ss.0"])
def test_4_times_that_a_spreadsheet_took_for_times_of_day(bring, clock):
    typed = time(0, 1, 41) if clock == "mm:ss.0" else time(1, 41)
    rows = [["Athlete", "500 m row", "Date"], ["Nora Holtvarg", typed, "2025-11-03"]]
    _, kept = bring(workbook({"Times": rows}, clock=clock))
    assert kept == {("Nora Holtvarg", "500-m-row"): (101.0, None)}


def test_5_semicolons_decimal_commas_and_windows_1252(bring):
    rows = [["Name", "Körpergewicht kg", "2k row", "Datum"], ["Søren Müller", "81,5", "7:42,3", "03.11.2025"]]
    _, kept = bring(text(rows, "cp1252", delimiter=";"), "tests.csv")
    assert kept == {("Søren Müller", "2000-m-row"): (462.3, None)}
    assert Athlete.objects.get(name="Søren Müller").body_mass_kg == 81.5


def test_6_a_table_pasted_from_a_spreadsheet_and_utf_16_with_tabs(bring):
    rows = [["Athlete", "Test", "Result", "Date"], ["Łukasz Brenn", "2k row", "7:42.3", "2025-11-03"]]
    for n, encoding in enumerate(("utf-16", "utf-8")):
        rows[1][2] = f"7:4{n}.3"
        _, kept = bring(text(rows, encoding, delimiter="\t"), "pasted table")
        assert kept == {("Łukasz Brenn", "2000-m-row"): (460.3 + n, None)}


def test_7_results_that_are_formulas(bring):
    rows = [["Athlete", "Back squat (kg)", "Date"], ["Nora Holtvarg", ("=2*40+2.5", 82.5), "2025-11-03"]]
    _, kept = bring(workbook({"Sums": rows}))
    assert kept == {("Nora Holtvarg", "back-squat"): (82.5, 1)}


def test_8_several_sheets_in_one_go_each_read_in_its_own_way(bring):
    sheets = {
        "Read me": [["These are our tests."]],
        "Members": [["First name", "Surname", "Sex"], ["Nora", "Holtvarg", "f"]],
        "2k row": [["Name", "Result", "Date"], ["Nora Holtvarg", "8:11", "2025-11-03"]],
        "Lifts 2025-11-05": [["Athlete", "Squat 1RM lb"], ["Nora Holtvarg", 185]],
    }
    source, kept = bring(workbook(sheets))
    assert [part["take"] for part in source.reading["parts"]] == [False, True, True, True]
    assert kept == {
        ("Nora Holtvarg", "2000-m-row"): (491, None), ("Nora Holtvarg", "back-squat"): (round(185 * POUND_KG, 2), 1)
    }  # fmt: skip
    assert Athlete.objects.get(name="Nora Holtvarg").sex == "female"
    assert Effort.objects.get(benchmark__slug="back-squat").performed_on == date(2025, 11, 5)
