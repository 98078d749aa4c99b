"""From the bytes of a file to rows of text, as a person sees them in a spreadsheet.

CSV after RFC 4180 as it is really met, in any usual encoding, with commas, semicolons or tabs between columns; or an
XLSX workbook. Rows come one by one, so memory stays bounded by the file itself.
"""

import codecs
import csv
import io
import re
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import partial
from hashlib import sha256
from itertools import islice
from weakref import WeakValueDictionary

from openpyxl import load_workbook

from athletes.formulas import as_written
from athletes.importing.sheets.size import TooLarge, has_too_many_members, look_through

MOST_BYTES = 20_000_000  # of a file
MOST_ROWS = 100_000
MOST_EMPTY = 100_000  # rows after that
MOST_COLUMNS = 200
MOST_IN_A_CELL = 10_000  # characters
MOST_LOOKED_AT = 100_000  # cells of the first rows
LOOKED_AT = 50  # rows from which the delimiter is seen
OLD_WORKBOOK, ZIP = b"\xd0\xcf\x11\xe0", b"PK\x03\x04"
OF_WORKBOOKS = (".xlsx", ".xlsm", ".xls", ".ods")
NO_TABLE = "This is no spreadsheet. Save it as CSV or as .xlsx, and choose that file."
CANNOT_OPEN = "This workbook cannot be opened. Open it in a spreadsheet and save it again as .xlsx, or as CSV."
NOT_UTF_8 = "It is not UTF-8, so it is read as Windows-1252. Look at names with é, ø or ß: are they right?"
NO_RESULT = (
    "Cells hold a formula without a result: open the file in a spreadsheet program, save it and import it again."
)
DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs"}
BOMS = {codecs.BOM_UTF8: "utf-8-sig", codecs.BOM_UTF16_LE: "utf-16", codecs.BOM_UTF16_BE: "utf-16"}
NAMES = {"utf-8-sig": "UTF-8", "utf-8": "UTF-8", "cp1252": "Windows-1252"}
# Files that begin like text, or nearly, and are none; those of other kinds are known by their control characters.
PICTURES, ARCHIVE = (b"\x89png", b"gif8", b"\xff\xd8\xff"), b"\x1f\x8b"
NO_TEXT = (*PICTURES, ARCHIVE, b"%pdf", b"{\\rtf", b"<!doctype", b"<html", b"<?xml", b"<svg")  # in lower case
FIRST_DAY = datetime(1899, 12, 31)  # day 1 of a spreadsheet's calendar is 1 January 1900
LOAD_SHOWN = re.compile(r"[0#?l]\s*(kg|lb)s?\s*$", re.IGNORECASE)  # behind the figures of a number format
LITERALS = re.compile(r'"[^"]*"|\\.|\[\$[^\]]*\]')  # of a number format: what stands in it as it is

csv.field_size_limit(1_000_000)  # an unclosed quote is told in words by `Table.rows`, not by the csv module's limit

Row = tuple[int, list[str]]  # its number as a spreadsheet counts, from 1, and its cells


class CannotRead(ValueError):
    """The file as a whole has no reading; the message says what to do about it."""


@dataclass(frozen=True)
class Table:
    """A file that can be read, again and again. `says` tells how it is read, `doubt` what to look at because of it."""

    says: str
    doubt: str
    sheets: tuple[str, ...]
    sheet: str
    read: Callable[[], Iterator[list[str]]]  # every row, empty ones too, so that their numbers are a spreadsheet's
    length: Callable[[], int]  # number of rows, or a guess of it; for a progress bar

    def rows(self, look_at: int = 0) -> Iterator[Row]:
        """Every row that says something; of the first `look_at` cells only, where it is given.

        CannotRead when it goes on for too long, or breaks off.
        """
        looked_at = 0
        for number, cells in enumerate(self.read(), start=1):
            looked_at += len(cells)
            if look_at and looked_at > look_at:
                return
            if number > MOST_ROWS + MOST_EMPTY:  # nothing but empty rows since long ago
                return
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
        """The first rows that say something; fewer where the file is so wide that these take long to read."""
        found: list[Row] = []
        for row in self.rows(look_at=MOST_LOOKED_AT):
            found.append(row)
            if len(found) == count:
                break
        return found


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
    return _of_workbook(content, sheet) if content.startswith(ZIP) else _of_text(content)


def _of_text(content: bytes) -> Table:
    text, encoding = _decoded(content)
    first = text.split("\n", 1)[0].strip().strip('"').lower()
    skip = first.startswith("sep=") and first[4:5] in ("", ",", ";", "|")  # a row for the spreadsheet itself: “sep=;”
    if skip:
        delimiter = {"": "\t", "|": ","}.get(first[4:5], first[4:5])
    else:  # the one that divides most rows into as many columns as the fullest of the first rows
        delimiter = max(DELIMITERS, key=lambda delimiter: _evenness(text, delimiter))

    def rows() -> Iterator[list[str]]:
        try:
            for number, cells in enumerate(_records(text, delimiter)):
                yield [] if skip and not number else cells
        except csv.Error as error:
            reason = f"The file breaks off inside a row ({error}). Save it as CSV again, or as .xlsx."
            raise CannotRead(reason) from None

    says = f"{NAMES.get(encoding, 'UTF-16')}, columns divided by {DELIMITERS[delimiter]}"
    return Table(says, NOT_UTF_8 if encoding == "cp1252" else "", (), "", rows, lambda: sum(1 for _ in rows()))


def _decoded(content: bytes) -> tuple[str, str]:
    """Text and encoding; CannotRead when it is no text at all."""
    if content.lstrip()[:9].lower().startswith(NO_TEXT):
        raise CannotRead(NO_TABLE)
    said = next((name for bom, name in BOMS.items() if content.startswith(bom)), "") or _utf_16_by_its_zeros(content)
    text, encoding = "", said or "utf-8"
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError:
        if said:
            reason = f"The file says it is {NAMES.get(said, 'UTF-16')}, but is not. Save it again."
            raise CannotRead(reason) from None
        encoding = "cp1252"
        text = content.decode(encoding, errors="replace")
    # Control characters, and bytes that are no letter: a few may slip into anyone's text.
    head = text[:65_536]
    strange = sum(letter == "\ufffd" or letter < " " and letter not in "\t\r\n\f\v" for letter in head)
    if strange > min(max(3, len(head) / 100), len(head) / 20):
        raise CannotRead(NO_TABLE)
    return text, encoding


def _utf_16_by_its_zeros(content: bytes) -> str:
    """Latin letters in UTF-16 have a zero in every second byte: which one tells the order."""
    head = content[:2000]
    even, odd = head[0::2].count(0), head[1::2].count(0)
    few, many = sorted((even, odd))
    if many < len(head) * 0.15 or few > many / 10 or len(content) % 2:
        return ""
    return "utf-16-le" if odd > even else "utf-16-be"


def _evenness(text: str, delimiter: str) -> tuple[float, int]:
    try:
        lengths = [len(row) for row in islice(_records(text, delimiter), LOOKED_AT) if row]
    except csv.Error:
        return 0.0, 0
    several = Counter(length for length in lengths if length > 1)
    if not several:
        return 0.0, 0
    columns, rows = max(several.items(), key=lambda item: (item[1], item[0]))
    return rows / len(lengths), columns


def _records(text: str, delimiter: str) -> Iterator[list[str]]:
    return csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)


def _of_workbook(content: bytes, sheet: str) -> Table:
    book = _opened(content)
    if sheet not in book.lengths:
        sheet = next((name for name in book.lengths if any(map(any, book.rows(name)))), "")
        if not sheet:
            raise CannotRead("The workbook is empty. Choose the one with the results.")
    says = f"Workbook, sheet “{sheet}”"
    doubt = NO_RESULT if book.without_result else ""
    return Table(says, doubt, tuple(book.lengths), sheet, partial(book.rows, sheet), lambda: book.lengths[sheet])


class _Book:
    """A workbook, to be read from; what a broken file makes the library raise has no end, so all of it is told."""

    def __init__(self, content: bytes) -> None:
        self.without_result = _checked_archive(content)
        with _told():
            self.book = load_workbook(io.BytesIO(content), read_only=True, data_only=True)
            # what each sheet says of its own length; 0 when it says nothing
            self.lengths = {sheet.title: sheet.max_row or 0 for sheet in self.book.worksheets}

    def rows(self, name: str) -> Iterator[list[str]]:
        sheet = self.book[name]
        sheet.reset_dimensions()  # what a file says of its own size is often wrong
        with _told():
            for row in sheet.iter_rows():  # rows that are missing in the file come as empty ones
                yield [
                    cell_text(cell.value, cell.number_format or "") if cell.value is not None else "" for cell in row
                ]


# By digest, for as long as a table of it is there: the sheets of a workbook are tables one by one.
_open: WeakValueDictionary[bytes, _Book] = WeakValueDictionary()


def _opened(content: bytes) -> _Book:
    digest = sha256(content).digest()
    book = _open.get(digest)
    if book is None:
        book = _open[digest] = _Book(content)
    return book


@contextmanager
def _told() -> Iterator[None]:
    try:
        yield
    except Exception:
        raise CannotRead(CANNOT_OPEN) from None


def _checked_archive(content: bytes) -> bool:
    """Whether formulas stand in a workbook without their results; CannotRead for an archive that is none, and for one
    that would cost too much to open."""
    if has_too_many_members(content):
        raise CannotRead(NO_TABLE)
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            names = set(archive.namelist())
            if "mimetype" in names:
                raise CannotRead("This is an OpenDocument spreadsheet. Save it as .xlsx or as CSV, and choose that.")
            if not any("workbook" in name for name in names):
                raise CannotRead(NO_TABLE)  # an archive of something else, or another program's document
            return look_through(archive)
    except TooLarge as reason:
        raise CannotRead(f"{reason}. Save the sheet with the results alone as CSV, and choose that.") from None
    except CannotRead:
        raise
    except Exception:  # what a broken archive makes the libraries raise has no end
        raise CannotRead(CANNOT_OPEN) from None


def cell_text(value, number_format: str) -> str:
    """What a person sees in a cell, near enough to be understood as if it had been typed.

    Dates become 2025-11-03. A time keeps its looks: 7:42, which a spreadsheet takes for a quarter to eight, stays
    7:42, because its format shows no seconds. So does a load whose unit stands in the format alone: 140 lb.
    """
    if isinstance(value, datetime) and value < datetime(1904, 1, 1):
        return _clock(value - FIRST_DAY, number_format)  # a time of more than 24 hours
    if isinstance(value, datetime | date):
        return value.strftime("%Y-%m-%d")
    if isinstance(value, time):
        return _clock(datetime.combine(FIRST_DAY, value) - FIRST_DAY, number_format)
    if isinstance(value, timedelta):
        return _clock(value, number_format)
    text = f"{value:.12g}" if isinstance(value, float) else str(value)
    shown = LOAD_SHOWN.search(re.sub(r'["\\]', "", number_format.partition(";")[0]))
    return f"{text} {shown[1].lower()}" if shown and type(value) in (int, float) else text


def _clock(length: timedelta, number_format: str) -> str:
    hours, rest = divmod(round(length.total_seconds(), 3), 3600)
    minutes, seconds = divmod(rest, 60)
    if "s" not in LITERALS.sub("", number_format).lower():
        return f"{int(hours)}:{int(minutes):02d}"
    seconds = f"{seconds:06.3f}".rstrip("0").rstrip(".")
    return f"{int(hours)}:{int(minutes):02d}:{seconds}" if hours else f"{int(minutes)}:{seconds}"
