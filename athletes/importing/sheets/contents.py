"""What a column that its heading does not explain seems to be for, from what stands in it: a proposal to look at."""

from collections.abc import Sequence
from datetime import date

from athletes.efforts import parsing
from athletes.efforts.parsing import NotUnderstood
from athletes.importing.sheets.benches import Benches
from athletes.importing.sheets.columns import Column
from athletes.importing.sheets.dates import Order, read_day
from athletes.importing.sheets.headings import Use
from athletes.importing.sheets.people import NOT_SAID
from athletes.importing.sheets.plan import is_number
from athletes.importing.sheets.reading import Row

YOUNGEST = 10  # years: who is tested is older, and tests are rarely that long ago (ours)


def proposed(columns: Sequence[Column], rows: Sequence[Row], benches: Benches, today: date) -> dict[int, str]:
    """Uses of columns whose headings say nothing, by index; each use that no other column has, once."""
    taken = {column.use for column in columns}
    uses: dict[int, str] = {}
    for column in columns:
        if column.use:
            continue
        cells = [row[column.index] for _, row in rows if column.index < len(row)]
        said = [cell for cell in cells if cell.lower() not in NOT_SAID]
        use = _seems(said, benches, today) if said else Use.NOTHING
        if use and use not in taken:
            taken.add(use)
            uses[column.index] = use
    # A result says something only beside the name of its benchmark.
    return {index: use for index, use in uses.items() if use != Use.RESULT or Use.BENCHMARK in taken}


def _seems(said: list[str], benches: Benches, today: date) -> str:
    if all(benches.find(cell) for cell in said):
        return Use.BENCHMARK
    # Plain numbers may be anything: shoe sizes, ages, days as a spreadsheet counts them.
    if all(is_number(cell.replace(",", ".")) for cell in said):
        return Use.NOTHING
    if days := _days(said, today):
        return Use.BORN if max(days).year <= today.year - YOUNGEST else Use.DAY
    return Use.RESULT if all(map(_is_result, said)) else Use.NOTHING


def _days(said: list[str], today: date) -> list[date]:
    """The days in a column that holds nothing else; in which order they are written does not matter here."""
    for order in (Order.DAY, Order.MONTH):
        try:
            return [read_day(cell, order, today) for cell in said]
        except NotUnderstood:
            continue
    return []


def _is_result(cell: str) -> bool:
    try:
        parsing.read(cell)
    except NotUnderstood:
        return False
    return True
