"""From the bytes of a file to rows of text, as a person sees them in a spreadsheet.

CSV after RFC 4180 in whatever encoding and with whatever delimiter (`text`), or an XLSX workbook (`workbook`). Rows
come one by one, so memory stays bounded by the file itself.
"""

import csv
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from itertools import islice

from athletes.formulas import as_written
from athletes.importing.sheets import text, workbook
from athletes.importing.sheets.cannot_read import NO_TABLE, CannotRead

MOST_ROWS = 100_000
MOST_COLUMNS = 200
MOST_IN_A_CELL = 10_000  # characters
OLD_WORKBOOK, ZIP = b"\xd0\xcf\x11\xe0", b"PK\x03\x04"
OF_WORKBOOKS = (".xlsx", ".xlsm", ".xls", ".ods")

Row = tuple[int, list[str]]  # its number as a spreadsheet counts, from 1, and its cells


@dataclass(frozen=True)
class Table:
    """A file that can be read, again and again. `says` tells how it is read, `doubt` what to look at because of it."""

    says: str
    doubt: str
    sheets: tuple[str, ...]
    sheet: str
    read: Callable[[], Iterator[list[str]]]
    length: Callable[[], int]  # number of rows, or a guess of it; for a progress bar

    def rows(self) -> Iterator[Row]:
        """Every row that says something. CannotRead when it goes on for too long, or breaks off."""
        for number, cells in enumerate(self.read(), start=1):
            cells = [as_written(cell.replace("\0", "").strip(" \u00a0")) for cell in cells]
            if not any(cells):
                continue
            if number > MOST_ROWS:
                raise CannotRead(f"The file has more than {MOST_ROWS:,} rows. Divide it, and bring in one by one.")
            if len(cells) > MOST_COLUMNS and any(cells[MOST_COLUMNS:]):
                raise CannotRead(f"Row {number} has more than {MOST_COLUMNS} columns. Take out what is not needed.")
            if any(len(cell) > MOST_IN_A_CELL for cell in cells):
                raise CannotRead(f"A cell in row {number} has over {MOST_IN_A_CELL:,} characters. Is a quote missing?")
            yield number, cells[:MOST_COLUMNS]

    def first(self, count: int) -> list[Row]:
        return list(islice(self.rows(), count))


def refuse_misnamed(filename: str, content: bytes) -> None:
    """CannotRead for a file with a workbook's ending that is none: read as text it would be a table of nonsense."""
    if filename.lower().endswith(OF_WORKBOOKS) and content.strip() and not content.startswith((OLD_WORKBOOK, ZIP)):
        raise CannotRead(NO_TABLE)


def open_table(content: bytes, sheet: str = "") -> Table:
    """The table in a file; of a workbook the sheet of that name, or the first one with something in it.

    Raises CannotRead, with what to do about it.
    """
    if not content.strip():
        raise CannotRead("The file is empty. Choose the one with the results.")
    if content.startswith(OLD_WORKBOOK):
        raise CannotRead("This is a workbook of the old kind (.xls). Save it as .xlsx or as CSV, and choose that.")
    if content.startswith(ZIP):
        book = workbook.opened(content, sheet)
        return Table(book.says, "", book.sheets, book.sheet, book.rows, book.length)
    decoded = text.decoded(content)
    read = partial(_csv_rows, decoded)
    return Table(decoded.says, decoded.doubt, (), "", read, lambda: sum(1 for _ in read()))


def _csv_rows(decoded: text.Decoded) -> Iterator[list[str]]:
    try:
        yield from decoded.rows()
    except csv.Error as error:
        raise CannotRead(f"The file breaks off inside a row ({error}). Save it as CSV again, or as .xlsx.") from None
