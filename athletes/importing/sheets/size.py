"""What a workbook would cost to open, from a look at its bytes as they are unpacked, before anything takes it apart.

A file of half a megabyte can unpack to gigabytes, and a hundred thousand shared strings take seconds however short they
are. Limits are ours: far above any gym's list, and low enough that opening costs less than two seconds and 100 MB.
"""

import re
import zipfile
from collections.abc import Iterator

from openpyxl.packaging.manifest import Manifest
from openpyxl.xml.constants import SHARED_STRINGS, WORKSHEET_TYPE
from openpyxl.xml.functions import fromstring

MOST_MEMBERS = 1000
MOST_UNPACKED = 100_000_000  # bytes in all
MOST_CELLS = 1_000_000  # of a sheet, empty ones that have a colour too
MOST_IN_A_ROW = 2000  # cells
MOST_BESIDE = 8_000_000  # bytes of a part that is no sheet: the shared strings, the styles …
MOST_TAGS = 25_000  # … and the elements in it
MOST_STRINGS = 80_000  # elements of the shared strings: about 40,000 different texts
PIECE = 1 << 18
MEMBER = b"PK\x01\x02"  # the signature of an entry in the directory of an archive
TAG = re.compile(rb"<[A-Za-z]")
ROW, CELL = re.compile(rb"<(?:\w+:)?row\b"), re.compile(rb"<(?:\w+:)?c[ />]")
# A cell with a formula and nothing worked out; one that comes to an empty text says so by its type.
NO_RESULT = re.compile(
    rb'<c\b(?![^<>]*\bt="str")[^<>]*>\s*(?:<f\b[^<>]*/>|<f\b[^<>]*>[^<]*</f>)\s*(?:<v\s*/>|<v>\s*</v>)?\s*</c>'
)
LONGEST_FORMULA = 10_000  # bytes of such a cell
OVERLAP = 64  # bytes; longer than any tag's name that is looked for
TYPES = "[Content_Types].xml"


class TooLarge(ValueError):
    """Why the workbook is not opened, in words; what to do about it is the same for all."""


def refuse_large(archive: zipfile.ZipFile) -> None:
    """TooLarge for a workbook that costs more than a gym's list ever does. Reads it once, piece by piece."""
    members = archive.infolist()
    if len(members) > MOST_MEMBERS or sum(member.file_size for member in members) > MOST_UNPACKED:
        raise TooLarge("The workbook is too large")
    sheets, strings = _said_to_be(archive, WORKSHEET_TYPE), _said_to_be(archive, SHARED_STRINGS)
    for member in members:
        if member.filename in sheets:
            _refuse_many_cells(_pieces(archive, member))
        else:
            most = MOST_STRINGS if member.filename in strings else MOST_TAGS
            _refuse_many_tags(member.file_size, most, _pieces(archive, member))


def has_too_many_members(content: bytes) -> bool:
    """Whether its directory alone would be too much to read."""
    return content.count(MEMBER) > MOST_MEMBERS


def has_formulas_without_result(archive: zipfile.ZipFile) -> bool:
    """Whether a program wrote formulas and left it to a spreadsheet to work them out: their cells read as empty."""
    sheets = _said_to_be(archive, WORKSHEET_TYPE)
    for member in archive.infolist():
        rest = b""
        for piece in _pieces(archive, member) if member.filename in sheets else ():
            if NO_RESULT.search(rest + piece):
                return True
            rest = piece[-LONGEST_FORMULA:]
    return False


def _said_to_be(archive: zipfile.ZipFile, kind: str) -> set[str]:
    """Names of the members that are of this kind by what the workbook says of them, and of no other."""
    if archive.getinfo(TYPES).file_size > PIECE:
        raise TooLarge("The workbook has too many parts")
    said = Manifest.from_tree(fromstring(archive.read(TYPES))).Override
    others = {part.PartName for part in said if part.ContentType != kind}
    return {part.PartName.lstrip("/") for part in said if part.PartName not in others}


def _pieces(archive: zipfile.ZipFile, member: zipfile.ZipInfo) -> Iterator[bytes]:
    with archive.open(member) as file:
        while piece := file.read(PIECE):
            yield piece


def _refuse_many_tags(size: int, most: int, pieces: Iterator[bytes]) -> None:
    if size > MOST_BESIDE:
        raise TooLarge("The workbook has too many different texts or formats, or pictures, in it")
    tags = 0
    for piece in pieces:
        tags += len(TAG.findall(piece))
        if tags > most:
            raise TooLarge("The workbook has too many different texts or formats in it")


def _refuse_many_cells(pieces: Iterator[bytes]) -> None:
    cells, in_row, rest = 0, 0, b""
    for piece in pieces:
        text = rest + piece
        cut = text.rfind(b"<") if len(text) > OVERLAP else -1
        text, rest = (text[:cut], text[cut:]) if cut > 0 and len(text) - cut < OVERLAP else (text, b"")
        first, *rows = ROW.split(text)
        counts = [in_row + len(CELL.findall(first)), *(len(CELL.findall(row)) for row in rows)]
        cells += sum(counts) - in_row
        in_row = counts[-1]
        if max(counts) > MOST_IN_A_ROW:
            raise TooLarge(f"A row has more than {MOST_IN_A_ROW:,} cells")
        if cells > MOST_CELLS:
            raise TooLarge(f"The sheet has more than {MOST_CELLS:,} cells")
