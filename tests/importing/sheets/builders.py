"""Small files and a few benchmarks to match them with."""

from datetime import date
from io import BytesIO

from openpyxl import Workbook

from athletes.importing.sheets.benches import Bench, Benches
from athletes.importing.sheets.columns import Plan, columns_of

TODAY = date(2026, 11, 25)
BENCHES = [
    Bench(1, "2000 m row", "time_for_distance", 2000.0),
    Bench(2, "500 m row", "time_for_distance", 500.0),
    Bench(3, "1 min row calories", "calories_in_time", 60.0),
    Bench(4, "Most pull-ups", "repetitions", None),
    Bench(5, "Back squat", "lift", None),
    Bench(6, "Plank", "hold", None),
    Bench(7, "1500 m run", "time_for_distance", 1500.0),
]


def benches(**said: int) -> Benches:
    return Benches(BENCHES, said)


def plan(headings: list[str], uses: list[str] | None = None, **facts) -> Plan:
    known = facts.pop("benches", None) or benches()
    return Plan(columns=tuple(columns_of(headings, known, uses)), benches=known, today=TODAY, **facts)


def workbook(*rows: list, formats: dict[str, str] | None = None, sheet: str = "Results") -> bytes:
    """A workbook of one sheet; `formats` by cell, like {"B2": "h:mm"}."""
    book, file = Workbook(), BytesIO()
    page = book.active
    page.title = sheet
    for row in rows:
        page.append(row)
    for cell, number_format in (formats or {}).items():
        page[cell].number_format = number_format
    book.save(file)
    return file.getvalue()
