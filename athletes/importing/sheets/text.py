"""CSV after RFC 4180 as it is really met: any usual encoding, and commas, semicolons or tabs between columns."""

import codecs
import csv
import io
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from athletes.importing.sheets.cannot_read import NO_TABLE, CannotRead

DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs"}
LOOKED_AT = 50  # rows from which the delimiter is seen
BOMS = {codecs.BOM_UTF8: "utf-8-sig", codecs.BOM_UTF16_LE: "utf-16", codecs.BOM_UTF16_BE: "utf-16"}
NAMES = {"utf-8-sig": "UTF-8", "utf-8": "UTF-8", "cp1252": "Windows-1252"}
NOT_UTF_8 = "It is not UTF-8, so it is read as Windows-1252. Look at names with é, ø or ß: are they right?"
# Files that begin like text, or nearly, and are none; those of other kinds are known by their control characters.
PICTURES, ARCHIVE = (b"\x89png", b"gif8", b"\xff\xd8\xff"), b"\x1f\x8b"
NO_TEXT = (*PICTURES, ARCHIVE, b"%pdf", b"{\\rtf", b"<!doctype", b"<html", b"<?xml", b"<svg")  # in lower case

csv.field_size_limit(1_000_000)  # an unclosed quote is told in words by `reading`, not by this module's limit


@dataclass(frozen=True)
class Decoded:
    """The text of a CSV file, and how it was found."""

    text: str
    encoding: str
    delimiter: str
    skip: int = 0  # first rows that are for the spreadsheet itself: “sep=;”

    @property
    def says(self) -> str:
        return f"{NAMES.get(self.encoding, 'UTF-16')}, columns divided by {DELIMITERS[self.delimiter]}"

    @property
    def doubt(self) -> str:
        return NOT_UTF_8 if self.encoding == "cp1252" else ""

    def rows(self) -> Iterator[list[str]]:
        """Every row, empty ones too, so that their numbers are a spreadsheet's."""
        for number, cells in enumerate(_records(self.text, self.delimiter)):
            yield [] if number < self.skip else cells


def decoded(content: bytes) -> Decoded:
    """The text of `content` with its delimiter; CannotRead when it is no text at all."""
    if content.lstrip()[:9].lower().startswith(NO_TEXT):
        raise CannotRead(NO_TABLE)
    text, encoding = _text(content)
    if _is_noise(text[:65_536]):
        raise CannotRead(NO_TABLE)
    first = text.split("\n", 1)[0].strip().strip('"').lower()
    if first.startswith("sep=") and first[4:5] in (",", ";", "|") or first == "sep=":
        delimiter = first[4:5] or "\t"
        return Decoded(text, encoding, delimiter if delimiter in DELIMITERS else ",", skip=1)
    return Decoded(text, encoding, _delimiter(text))


def _is_noise(text: str) -> bool:
    """Whether control characters, and bytes that are no letter, are too many: one may slip into anyone's text."""
    strange = sum(letter == "\ufffd" or letter < " " and letter not in "\t\r\n\f\v" for letter in text)
    return strange > min(max(3, len(text) / 100), len(text) / 20)


def _text(content: bytes) -> tuple[str, str]:
    for bom, encoding in BOMS.items():
        if content.startswith(bom):
            return _strictly(content, encoding), encoding
    if encoding := _utf_16_by_its_zeros(content):
        return _strictly(content, encoding), encoding
    try:
        return content.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace"), "cp1252"


def _strictly(content: bytes, encoding: str) -> str:
    try:
        return content.decode(encoding)
    except UnicodeDecodeError:
        raise CannotRead(f"The file says it is {NAMES.get(encoding, 'UTF-16')}, but is not. Save it again.") from None


def _utf_16_by_its_zeros(content: bytes) -> str:
    """Latin letters in UTF-16 have a zero in every second byte: which one tells the order."""
    head = content[:2000]
    even, odd = head[0::2].count(0), head[1::2].count(0)
    few, many = sorted((even, odd))
    if many < len(head) * 0.15 or few > many / 10 or len(content) % 2:
        return ""
    return "utf-16-le" if odd > even else "utf-16-be"


def _delimiter(text: str) -> str:
    """The one that divides most rows into as many columns as the fullest of the first rows."""
    return max(DELIMITERS, key=lambda delimiter: _evenness(text, delimiter))


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
