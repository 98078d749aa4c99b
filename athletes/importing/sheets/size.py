"""What a workbook would cost to open, from a look at its parts as they are unpacked, before anything takes it apart.

A file of half a megabyte can unpack to gigabytes; and what costs seconds and memory in a table is not cells alone, but
any tag and attribute, however empty. Each part goes through the parser that opens it later, piece by piece, and is only
counted. Limits are ours: far above any gym's list, and low enough that opening costs less than two seconds and 100 MB.
"""

import re
import zipfile
from collections.abc import Iterator
from io import BytesIO
from typing import IO
from xml.parsers import expat

from openpyxl.comments.comment_sheet import CommentSheet
from openpyxl.packaging.manifest import Manifest
from openpyxl.reader.excel import ExcelReader
from openpyxl.xml.constants import SHARED_STRINGS, WORKSHEET_TYPE
from openpyxl.xml.functions import fromstring

MOST_MEMBERS = 1000
MOST_UNPACKED = 100_000_000  # bytes in all
MOST_SHEETS = 40
MOST_OF_SHEETS = 30_000_000  # bytes of all sheets together
MOST_CELLS = 200_000  # of all sheets together, empty ones that have a colour too
MOST_IN_SHEETS = 500_000  # elements of all sheets together: a cell has two or three
MOST_ROWS = 200_000  # of all sheets together
MOST_IN_A_ROW = 2000  # cells
MOST_TAGS_IN_A_ROW = 20_000
MOST_AROUND = 20_000  # elements of sheets that are in no row: merged cells, rules, links
MOST_BESIDE = 8_000_000  # bytes of a part that is no sheet: the shared strings, the styles …
MOST_TAGS = 25_000  # … and the elements in all of them
MOST_STRINGS = 80_000  # elements of the shared strings: about 40,000 different texts
MOST_ATTRIBUTES = 1_000_000  # of all sheets together, and of the other parts
MOST_OF_AN_ELEMENT = 100  # attributes
MOST_DEEP = 100  # elements in one another
MOST_OF_TYPES = 1 << 18  # bytes of the list of parts
MOST_OF_A_TAG = 1 << 16  # bytes, and of a comment
PIECE = 1 << 16
CELL = re.compile(r"^[A-Z]{1,3}\d{1,7}$", re.ASCII)
MEMBER = b"PK\x01\x02"  # the signature of an entry in the directory of an archive
TYPES = "[Content_Types].xml"
STRANGE = "The workbook cannot be opened: there is in it what no spreadsheet writes"
FORMATS = "The workbook has too many different texts or formats in it"


class TooLarge(ValueError):
    """Why the workbook is not opened, in words; what to do about it is the same for all."""


class _Counts:
    """What is in a part of a workbook, or in several of them together."""

    def __init__(self, most: int, words: str) -> None:
        self.most, self.words = most, words
        self.tags = self.attributes = 0

    def read(self, file: IO[bytes]) -> None:
        """Count what is in a part; TooLarge as soon as it is too much. What is no XML is not read by anyone."""
        self.depth = 0
        parser = expat.ParserCreate(namespace_separator=" ")  # of each name, the last part is what it is called
        parser.ordered_attributes = True
        parser.StartElementHandler, parser.EndElementHandler = self.begins, self.ends
        parser.CharacterDataHandler = self.says
        parser.StartDoctypeDeclHandler = _refuse_definitions
        fed = 0
        try:
            for piece in _pieces(file):
                fed += len(piece)
                parser.Parse(piece)
                if fed - parser.CurrentByteIndex > MOST_OF_A_TAG + PIECE:
                    raise TooLarge(STRANGE)
        except expat.ExpatError:
            return

    def begins(self, name: str, attributes: list[str]) -> None:
        self.tags += 1
        self.depth += 1
        self.attributes += len(attributes) // 2  # names and values in turn
        if self.tags > self.most or self.attributes > MOST_ATTRIBUTES:
            raise TooLarge(self.words)
        if self.depth > MOST_DEEP or len(attributes) // 2 > MOST_OF_AN_ELEMENT:
            raise TooLarge(STRANGE)

    def ends(self, name: str) -> None:
        self.depth -= 1

    def says(self, text: str) -> None:
        pass


class SheetCounts(_Counts):
    """What is in sheets, and whether a program wrote formulas and left it to a spreadsheet to work them out: such cells
    read as empty. One whose formula comes to an empty text says so by its type."""

    without_result = False

    def __init__(self) -> None:
        super().__init__(MOST_IN_SHEETS, "The sheets have too much in them")
        self.rows = self.cells = self.around = 0
        self.row_depth = self.row_cells = self.row_tags = 0
        self.has_formula = self.has_result = self.in_result = False  # of a cell

    def begins(self, name: str, attributes: list[str]) -> None:
        super().begins(name, attributes)
        kind = name.rpartition(" ")[2]
        if self.row_depth:
            self._in_a_row(kind, attributes)
        elif kind == "row":
            self.row_depth, self.row_cells, self.row_tags = self.depth, 0, 0
            self.rows += 1
            if self.rows > MOST_ROWS:
                raise TooLarge(f"The sheets have more than {MOST_ROWS:,} rows")
        else:
            self.around += 1
            if self.around > MOST_AROUND:
                raise TooLarge("The sheets have too many merged cells, rules or links")

    def ends(self, name: str) -> None:
        if self.depth == self.row_depth:
            self.row_depth = 0
        kind = name.rpartition(" ")[2]
        if kind == "c":
            self.without_result |= self.has_formula and not self.has_result
        self.in_result &= kind != "v"
        super().ends(name)

    def says(self, text: str) -> None:
        self.has_result |= self.in_result

    def _in_a_row(self, kind: str, attributes: list[str]) -> None:
        self.has_formula |= kind == "f"
        self.in_result |= kind == "v"
        self.row_tags += 1
        if self.row_tags > MOST_TAGS_IN_A_ROW:
            raise TooLarge("A row has too much in it")
        if kind == "c":
            self.has_formula, self.has_result = False, "str" in attributes
            self.cells += 1
            self.row_cells += 1
            if self.row_cells > MOST_IN_A_ROW:
                raise TooLarge(f"A row has more than {MOST_IN_A_ROW:,} cells")
            if self.cells > MOST_CELLS:
                raise TooLarge(f"The sheets have more than {MOST_CELLS:,} cells")


class _Comments(_Counts):
    """The cells to which something is noted, as a spreadsheet names them."""

    def __init__(self) -> None:
        super().__init__(MOST_TAGS, FORMATS)
        self.cells: list[str] = []

    def begins(self, name: str, attributes: list[str]) -> None:
        super().begins(name, attributes)
        if name.rpartition(" ")[2] == "comment":
            said = dict(zip(attributes[::2], attributes[1::2], strict=True))
            self.cells += CELL.findall(said.get("ref", ""))


def look_through(archive: zipfile.ZipFile) -> bool:
    """Whether formulas stand in a workbook without their results; TooLarge for one that costs more than a gym's list
    ever does. Reads it once, piece by piece."""
    members = archive.infolist()
    if len(members) > MOST_MEMBERS or sum(member.file_size for member in members) > MOST_UNPACKED:
        raise TooLarge("The workbook is too large")
    sheets, strings = _said_to_be(archive, WORKSHEET_TYPE), _said_to_be(archive, SHARED_STRINGS)
    if sum(member.file_size for member in members if member.filename in sheets) > MOST_OF_SHEETS:
        raise TooLarge("The sheets have too much in them")
    if any(member.file_size > MOST_BESIDE for member in members if member.filename not in sheets):
        raise TooLarge("The workbook has too many different texts or formats, or pictures, in it")
    in_sheets, in_strings, beside = SheetCounts(), _Counts(MOST_STRINGS, FORMATS), _Counts(MOST_TAGS, FORMATS)
    for member in members:
        name = member.filename
        with archive.open(member) as file:
            (in_sheets if name in sheets else in_strings if name in strings else beside).read(file)
    _refuse_many_sheets(archive)
    return in_sheets.without_result


def commented(content: bytes) -> list[str]:
    """Cells with a comment, of all sheets of a workbook that was looked through."""
    found = _Comments()
    with zipfile.ZipFile(BytesIO(content)) as archive:
        parts = _said_to_be(archive, CommentSheet.mime_type)
        for member in archive.infolist():
            if member.filename in parts:
                with archive.open(member) as file:
                    found.read(file)
    return found.cells


def has_too_many_members(content: bytes) -> bool:
    """Whether its directory alone would be too much to read."""
    return content.count(MEMBER) > MOST_MEMBERS


def _refuse_many_sheets(archive: zipfile.ZipFile) -> None:
    """Looks at the list of sheets, which is counted by now, as it is looked at when the workbook is opened."""
    reader = ExcelReader(archive.fp, read_only=True)
    reader.read_manifest()
    reader.read_workbook()
    parts = [part.target for _, part in reader.parser.find_sheets()]
    if len(parts) > MOST_SHEETS:
        raise TooLarge(f"The workbook has more than {MOST_SHEETS} sheets")
    if len(parts) > len(set(parts)):
        raise TooLarge(STRANGE)


def _said_to_be(archive: zipfile.ZipFile, kind: str) -> set[str]:
    """Names of the members that are of this kind by what the workbook says of them, and of no other."""
    if archive.getinfo(TYPES).file_size > MOST_OF_TYPES:
        raise TooLarge("The workbook has too many parts")
    said = Manifest.from_tree(fromstring(archive.read(TYPES))).Override
    others = {part.PartName for part in said if part.ContentType != kind}
    return {part.PartName.lstrip("/") for part in said if part.PartName not in others}


def _pieces(file: IO[bytes]) -> Iterator[bytes]:
    while piece := file.read(PIECE):
        yield piece


def _refuse_definitions(*said: object) -> None:
    """What a part defines by itself can grow when it is read."""
    raise TooLarge(STRANGE)
