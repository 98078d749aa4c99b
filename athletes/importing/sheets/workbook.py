"""XLSX workbooks, read row by row. Times and dates come out as the text that a person sees in the cell."""

import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from openpyxl import load_workbook

from athletes.importing.sheets.cannot_read import NO_TABLE, CannotRead

MOST_UNPACKED = 200_000_000  # bytes
CANNOT_OPEN = "This workbook cannot be opened. Open it in a spreadsheet and save it again as .xlsx, or as CSV."
FIRST_DAY = datetime(1899, 12, 31)  # day 1 of a spreadsheet's calendar is 1 January 1900
LITERALS = re.compile(r'"[^"]*"|\\.|\[\$[^\]]*\]')  # of a number format: what stands in it as it is


@dataclass(frozen=True)
class Opened:
    """A workbook whose sheet can be read again and again."""

    content: bytes
    sheets: tuple[str, ...]
    sheet: str

    @property
    def says(self) -> str:
        return f"Workbook, sheet “{self.sheet}”"

    def rows(self) -> Iterator[list[str]]:
        """Every row, empty ones too. CannotRead when it breaks off."""
        book = _load(self.content)
        try:
            yield from _sheet_rows(book[self.sheet])
        except CannotRead:
            raise
        except Exception:  # what a broken file makes this library raise has no end
            raise CannotRead(CANNOT_OPEN) from None
        finally:
            book.close()

    def length(self) -> int:
        """What the sheet says of its own length; 0 when it says nothing."""
        book = _load(self.content)
        try:
            return book[self.sheet].max_row or 0
        finally:
            book.close()


def opened(content: bytes, sheet: str = "") -> Opened:
    """The workbook in `content`, at the sheet of that name, or else at the first one with something in it."""
    _refuse_too_large(content)
    book = _load(content)
    try:
        names = tuple(worksheet.title for worksheet in book.worksheets)
    finally:
        book.close()
    if sheet in names:
        return Opened(content, names, sheet)
    for name in names:
        found = Opened(content, names, name)
        if any(any(cells) for cells in found.rows()):
            return found
    raise CannotRead("The workbook is empty. Choose the one with the results.")


def cell_text(value, number_format: str) -> str:
    """What a person sees in a cell, near enough to be understood as if it had been typed.

    Dates become 2025-11-03. A time keeps its looks: 7:42, which a spreadsheet takes for a quarter to eight, stays
    7:42, because its format shows no seconds.
    """
    if value is None:
        return ""
    if isinstance(value, datetime) and value < datetime(1904, 1, 1):
        return _clock(value - FIRST_DAY, number_format)  # a time of more than 24 hours
    if isinstance(value, datetime | date):
        return value.strftime("%Y-%m-%d")
    if isinstance(value, time):
        return _clock(datetime.combine(FIRST_DAY, value) - FIRST_DAY, number_format)
    if isinstance(value, timedelta):
        return _clock(value, number_format)
    if isinstance(value, float):
        return f"{value:.12g}"
    return str(value)


def _clock(length: timedelta, number_format: str) -> str:
    hours, rest = divmod(round(length.total_seconds(), 3), 3600)
    minutes, seconds = divmod(rest, 60)
    if "s" not in LITERALS.sub("", number_format).lower():
        return f"{int(hours)}:{int(minutes):02d}"
    seconds = f"{seconds:06.3f}".rstrip("0").rstrip(".")
    return f"{int(hours)}:{int(minutes):02d}:{seconds}" if hours else f"{int(minutes)}:{seconds}"


def _sheet_rows(worksheet) -> Iterator[list[str]]:
    worksheet.reset_dimensions()  # what a file says of its own size is often wrong
    for cells in worksheet.iter_rows():  # rows that are missing in the file come as empty ones
        yield [cell_text(cell.value, cell.number_format or "") if cell.value is not None else "" for cell in cells]


def _load(content: bytes):
    try:
        return load_workbook(io.BytesIO(content), read_only=True, data_only=True)
    except Exception:  # see above
        raise CannotRead(CANNOT_OPEN) from None


def _refuse_too_large(content: bytes) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            members = archive.infolist()
    except zipfile.BadZipFile:
        raise CannotRead(CANNOT_OPEN) from None
    names = {member.filename for member in members}
    if "mimetype" in names:
        raise CannotRead("This is an OpenDocument spreadsheet. Save it as .xlsx or as CSV, and choose that.")
    if not any("workbook" in name for name in names):
        raise CannotRead(NO_TABLE)  # an archive of something else, or another program's document
    if sum(member.file_size for member in members) > MOST_UNPACKED:
        raise CannotRead("The workbook is too large. Save the sheet with the results as CSV, and choose that.")
