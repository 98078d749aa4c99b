"""Tables as files: CSV, XLSX and JSON. Knows neither Django nor any model.

Values are text, numbers, dates, moments, None or, for JSON alone, lists. In CSV and XLSX text that a spreadsheet would
run as a formula gets a leading apostrophe (see `formulas`), which an import takes off again; numbers stay numbers.
"""

import csv
import io
import json
import re
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import IO
from uuid import UUID

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Font

from athletes.formulas import MARK, harmless

CONTENT_TYPES = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "json": "application/json",
}
BOM = "\ufeff"  # tells spreadsheets that it is UTF-8
TOGETHER = 500  # rows in a piece
# What no workbook can hold: control characters other than tab and the ends of a line (XML 1.0).
UNWRITABLE = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")

PARTED = re.compile(r"([;\t\r\n]\s*)(?=[=+\-@])")


@dataclass(frozen=True)
class Table:
    """Rows that go out under headings; `rows` can be gone through once."""

    name: str
    columns: Sequence[str]
    rows: Iterable[Sequence]


def csv_pieces(columns: Sequence[str], rows: Iterable[Sequence]) -> Iterator[bytes]:
    """CSV after RFC 4180, in UTF-8, a few hundred rows at a time."""
    yield BOM.encode()
    for piece in _pieces([columns], rows):
        buffer = io.StringIO(newline="")
        csv.writer(buffer, lineterminator="\r\n").writerows([_csv_cell(value) for value in row] for row in piece)
        yield buffer.getvalue().encode()


def json_pieces(columns: Sequence[str], rows: Iterable[Sequence]) -> Iterator[bytes]:
    """A JSON array with an object for each row, a row to a line; text as it is."""
    yield b"["
    between = "\n"
    for row in rows:
        named = dict(zip(columns, row, strict=True))
        yield (between + json.dumps(named, ensure_ascii=False, allow_nan=False, default=_plain)).encode()
        between = ",\n"
    yield b"\n]\n"


def xlsx_file(columns: Sequence[str], rows: Iterable[Sequence], title: str) -> IO[bytes]:
    """A workbook of one sheet in a temporary file, at its beginning; it is gone when it is closed."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet(title[:31])
    sheet.freeze_panes = "A2"
    sheet.append([_bold(sheet, name) for name in columns])
    for row in rows:
        sheet.append([_sheet_value(value) for value in row])
    file = tempfile.TemporaryFile()  # noqa: SIM115  # whoever asked for it closes it
    book.save(file)
    file.seek(0)
    return file


def _pieces(first: list, rows: Iterable[Sequence]) -> Iterator[list]:
    piece = first
    for row in rows:
        piece.append(row)
        if len(piece) >= TOGETHER:
            yield piece
            piece = []
    if piece:
        yield piece


def _cell(value) -> str | int | float:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return value
    return harmless(UNWRITABLE.sub("", _plain(value)))


def _csv_cell(value) -> str | int | float:
    """A spreadsheet that parts cells at semicolons or tabs would run what stands behind one."""
    cell = _cell(value)
    return PARTED.sub(rf"\1{MARK}", cell) if isinstance(cell, str) else cell


def _sheet_value(value):
    if isinstance(value, datetime):  # sheets know no time zones
        return _cell(value)
    if value is None or (isinstance(value, int | float | date) and not isinstance(value, bool)):
        return value
    return _cell(value)


def _bold(sheet, name: str) -> WriteOnlyCell:
    heading = WriteOnlyCell(sheet, harmless(name))
    heading.font = Font(bold=True)
    return heading


def _plain(value) -> str:
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, str | UUID):
        return str(value)
    if isinstance(value, list | dict):
        return json.dumps(value, ensure_ascii=False)
    raise TypeError(f"{value!r} has no place in a table.")
