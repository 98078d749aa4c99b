"""How a file is to be read, as an import keeps it (`Import.reading`), and the plan that follows from it.

says, doubt           how the bytes were read, in words        sheets, sheet   of a workbook
heading_row           the number of the row with the headings
headings, samples     that row, and the first ones below it
uses                  what each column is for, see importing.headings.Use
proposed              numbers of the columns whose use is only guessed from what stands in them
order, example, open  of dates in numbers, and the evidence for their order: see importing.dates
day, load_unit        of results whose day, and of loads whose unit, the file does not say
names                 benchmarks by the names that a coach explained: id
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from django.core.exceptions import ValidationError

from athletes.gym.read import today
from athletes.importing.read import MOVED_ON, benches
from athletes.importing.sheets.benches import Bench, Benches
from athletes.importing.sheets.columns import Column, Plan, columns_of, heading_row, proposed
from athletes.importing.sheets.dates import Order, date_format
from athletes.importing.sheets.headings import Use
from athletes.importing.sheets.reading import CannotRead, Row, Table, open_table
from athletes.models import Import

SAMPLED = 2000  # rows that the order of dates is seen from
SHOWN = 5
DATES = (Use.DAY, Use.BORN, Use.JOINED)


def guessed(table: Table, heading: int | None = None) -> dict:
    """A reading of `table`: with the headings in row `heading`, or where most of them are recognised."""
    known, rows = Benches(benches()), table.first(SAMPLED)
    if not rows:
        raise CannotRead("The file is empty. Choose the one with the results.")
    heading = heading or heading_row(rows, known)
    headings = next((cells for number, cells in rows if number == heading), rows[0][1])
    below = [row for row in rows if row[0] > heading]
    columns = columns_of(headings, known)
    guesses = proposed(columns, below, known, today())
    columns = [replace(column, use=guesses.get(column.index, column.use)) for column in columns]
    return {
        "says": table.says,
        "doubt": table.doubt,
        "sheets": list(table.sheets),
        "sheet": table.sheet,
        "heading_row": heading,
        "headings": headings,
        "samples": [cells for _, cells in below[:SHOWN]],
        "uses": [str(column.use) for column in columns],
        "proposed": sorted(guesses),
        **_order(columns, below),
        "day": "",
        "load_unit": "kg",
        "names": {},
    }


def dates_again(source: Import, uses: list[str]) -> dict:
    """The reading with `uses`, and the order of dates seen anew from the columns they are in; nothing is written."""
    reading = {**source.reading, "uses": uses}
    try:
        rows = open_table(bytes(source.content), reading["sheet"]).first(SAMPLED)
    except CannotRead:  # it was done with in this very moment
        raise ValidationError(MOVED_ON) from None
    columns = columns_of(reading["headings"], Benches(benches()), uses)
    return reading | _order(columns, [row for row in rows if row[0] > reading["heading_row"]])


def plan_of(reading: dict, named: list[Bench]) -> Plan:
    """The plan of a reading; columns of benchmarks that are gone are left out."""
    known = Benches(named, reading["names"])
    columns = columns_of(reading["headings"], known, reading["uses"])
    return Plan(
        columns=tuple(column for column in columns if column.bench is None or column.bench in known.by_id),
        benches=known,
        today=today(),
        order=Order(reading["order"]) if reading["order"] else None,
        day=date.fromisoformat(reading["day"]) if reading["day"] else None,
        load_unit=reading["load_unit"],
    )


def _order(columns: Sequence[Column], rows: Sequence[Row]) -> dict:
    """The order of the dates, of which any column may hold the one that decides: a file is written in one order."""
    at = [column.index for column in columns if column.use in DATES or column.use.startswith(Use.DAY_OF)]
    in_headings = [column.day for column in columns if column.day and column.use.startswith(Use.RESULT_OF)]
    texts = [*in_headings, *_cells(rows, at)]
    dates = date_format(texts)
    if dates.open:
        unused = [column.index for column in columns if not column.use]
        settled = date_format([*texts, *_cells(rows, unused)])
        if settled.evidence:
            dates = replace(dates, order=settled.order, evidence=settled.evidence)
    return {
        "order": str(dates.order or ""),
        "example": dates.example,
        "open": dates.open,
        "evidence": dates.evidence,
    }


def _cells(rows: Sequence[Row], at: Sequence[int]) -> Iterator[str]:
    return (cells[index] for _, cells in rows for index in at if index < len(cells))
