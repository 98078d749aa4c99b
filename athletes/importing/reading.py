"""How a file is to be read, as an import keeps it (`Import.reading`), and the plan that follows from it.

says, doubt           how the bytes were read, in words
comments              cells with a comment, of all sheets: what stands in it is not read
names                 benchmarks by the names that a coach explained: id
people                athletes by the names of whom a coach said who they are: id, or None for somebody new
aside                 names that a coach saw and left without an answer
parts                 of each sheet with something in it (a text has one):
  sheet, take           its name, and whether it is brought in
  rows                  how many there are below the headings, up to a few more than what is done at once
  heading_row           the number of the row with the headings
  headings, samples     that row, and the first ones below it
  uses                  what each column is for, see importing.sheets.headings.Use
  guesses               the same as it would be guessed if no coach had ever said anything of these headings
  unused                headings of columns with something in them that have no use
  proposed              numbers of the columns whose use is only guessed from what stands in them
  order, example, open  of dates in numbers, and the evidence for their order: see importing.sheets.dates
  day, load_unit, bench of results that do not say it; `load_unit` is empty where pounds are spoken of and nobody chose
  pounds                whether they are spoken of
plain, no_load        whether a load or a body mass stands among the first rows without its unit, and whether lifts have
                      repetitions there and no column for their loads
  clock, clock_example  what 1:41:00 means
  point, point_example  what 8.22 means below “min”
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from django.core.exceptions import ValidationError

from athletes.efforts.parsing import NotUnderstood
from athletes.gym.read import today
from athletes.importing.read import AT_ONCE, MOVED_ON, benches, names_explained
from athletes.importing.sheets.benches import Bench, Benches
from athletes.importing.sheets.columns import (
    HUNDREDTHS,
    NOT_SAID,
    SEARCHED,
    Column,
    Plan,
    clock_in,
    columns_of,
    day_in,
    days_of,
    heading_row,
    headings_at,
    point_in,
    pounds_in,
    proposed,
)
from athletes.importing.sheets.dates import Order, date_format, read_day
from athletes.importing.sheets.headings import Use
from athletes.importing.sheets.reading import CannotRead, Row, Table, open_table
from athletes.importing.sheets.rows import CHOOSE_LOAD, NO_UNIT, understand
from athletes.importing.sheets.size import commented
from athletes.models import Import

SAMPLED = 2000  # rows that the order of dates is seen from
SHOWN = 5
MOST_COMMENTS = 100
DATES = (Use.DAY, Use.BORN, Use.JOINED)
OF_PEOPLE = (Use.NAME, Use.FIRST, Use.LAST, Use.BOARD)


def guessed(content: bytes) -> dict:
    """A reading of a file, with the headings of each sheet where most of them are recognised."""
    first = open_table(content)
    tables = [open_table(content, name) for name in first.sheets] or [first]
    known = Benches(benches(), names_explained())
    parts = [part_guessed(table, known) for table in tables if table.first(1)]
    if not parts:
        raise CannotRead("The file is empty. Choose the one with the results.")
    if len(parts) == 1:
        parts[0]["take"] = True
    says = f"Workbook with {len(parts)} sheets" if len(parts) > 1 else first.says
    comments = commented(content)[:MOST_COMMENTS] if first.sheets else []
    return {"says": says, "doubt": first.doubt, "comments": comments, "names": {}, "people": {}, "parts": parts}


def part_guessed(table: Table, known: Benches, heading: int | None = None) -> dict:
    """A reading of one sheet, with the headings in row `heading` where that is given."""
    every = table.first(SEARCHED + AT_ONCE + 1)
    rows = every[:SAMPLED]
    heading = heading or heading_row(rows, known)
    heading, headings = headings_at(rows, heading)
    below = [row for row in rows if row[0] > heading]
    columns = columns_of(headings, known)
    unaided = columns_of(headings, Benches(known.by_id.values()))
    guesses = proposed(columns, below, known, today())
    columns = [replace(column, use=guesses.get(column.index, column.use)) for column in columns]
    of_all = known.find(table.sheet) if all(column.use != Use.BENCHMARK for column in columns) else None
    columns = days_of(columns, of_all.pk) if of_all else columns
    uses = [str(column.use) for column in columns]
    of_all = of_all if set(uses) & {Use.RESULT, Use.LOAD, Use.REPETITIONS} else None
    pounds = pounds_in([table.sheet, *(cell for _, cells in rows for cell in cells)])
    clock, clock_example = clock_in(cell for _, cells in below for cell in cells)
    return {
        "sheet": table.sheet,
        "take": bool(set(uses) & set(OF_PEOPLE)) and len(set(filter(None, uses))) > 1,
        "rows": sum(number > heading for number, _ in every),
        "heading_row": heading,
        "headings": headings,
        "samples": [cells for _, cells in below[:SHOWN]],
        "uses": uses,
        "guesses": [str(column.use) for column in unaided],
        "unused": _unused(columns, below),
        "proposed": sorted(guesses),
        **_order(columns, below),
        "day": _day_of(table.sheet),
        "load_unit": "" if pounds else "kg",
        "pounds": pounds,
        **_loads(columns, below, known, of_all.pk if of_all else None),
        "bench": of_all.pk if of_all else None,
        "clock": clock,
        "clock_example": clock_example,
        **_point(columns, below),
    }


def seen_again(source: Import, part: dict, uses: list[str], bench: int | None) -> dict:
    """The part with `uses` and one benchmark for all, with what follows from them seen anew: the order of dates, and
    whether loads are plain. Nothing is written."""
    part = {**part, "uses": uses}
    try:
        rows = open_table(bytes(source.content), part["sheet"]).first(SAMPLED)
    except CannotRead:  # it was done with in this very moment
        raise ValidationError(MOVED_ON) from None
    known = Benches(benches(), {**names_explained(), **source.reading["names"]})
    columns = columns_of(part["headings"], known, uses)
    below = [row for row in rows if row[0] > part["heading_row"]]
    seen = {"unused": _unused(columns, below), **_point(columns, below), **_order(columns, below)}
    return part | seen | _loads(columns, below, known, bench)


def without_samples(reading: dict) -> dict:
    """The reading without what names people: rows of the file, and who they were said to be."""
    return {**reading, "people": {}, "aside": [], "parts": [{**part, "samples": []} for part in reading["parts"]]}


def plan_of(reading: dict, part: dict, named: list[Bench]) -> Plan:
    """The plan of a part; columns of benchmarks that are gone are left out."""
    known = Benches(named, {**names_explained(), **reading["names"]})
    columns = columns_of(part["headings"], known, part["uses"])
    # What is said of one column, of this sheet before others, holds for the whole file.
    points = [each["point"] for each in (part, *reading["parts"]) if each["take"] and each.get("point_example")]
    return Plan(
        columns=tuple(column for column in columns if column.bench is None or column.bench in known.by_id),
        benches=known,
        today=today(),
        order=Order(part["order"]) if part["order"] else None,
        day=date.fromisoformat(part["day"]) if part["day"] else None,
        load_unit=part["load_unit"],
        bench=part["bench"],
        clock=part["clock"],
        point=part.get("point", HUNDREDTHS),
        plain_point=points[0] if points else "",
    )


def _day_of(sheet: str) -> str:
    """The day that a sheet is named after; empty where it is none, or could be two."""
    try:
        return read_day(day_in(sheet), None, today()).isoformat()
    except NotUnderstood:
        return ""


def _unused(columns: Sequence[Column], rows: Sequence[Row]) -> list[str]:
    """The headings of columns that nothing uses and that say something all the same."""
    free = [column for column in columns if not column.use]
    return [c.title for c in free if any(cell.lower() not in NOT_SAID for cell in _cells(rows, [c.index]))]


def _point(columns: Sequence[Column], rows: Sequence[Row]) -> dict:
    """What 8.22 means, seen from the columns of results in minutes."""
    results = [c.index for c in columns if c.unit == "min" and (c.use == Use.RESULT or c.use.startswith(Use.RESULT_OF))]
    point, example = point_in(_cells(rows, results))
    return {"point": point, "point_example": example}


def _loads(columns: Sequence[Column], rows: Sequence[Row], known: Benches, bench: int | None) -> dict:
    """What is not said of loads, seen from what rows would be left out for."""
    # Days are left out: one that is not understood is told before the load is looked at.
    timeless = [replace(c, day="", use=Use.NOTHING if c.use.startswith(Use.DAY) else c.use) for c in columns]
    plan = Plan(tuple(timeless), known, today(), day=today(), load_unit="", bench=bench)
    reasons = {problem.reason for row in rows for problem in understand(*row, plan).problems}
    return {"plain": NO_UNIT in reasons, "no_load": any(CHOOSE_LOAD in reason for reason in reasons)}


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
