"""CSV files. Source: RFC 4180, Common Format and MIME Type for Comma-Separated Values (CSV) Files, section 2."""

import csv
import io

import pytest

from athletes.exporting.tables import csv_pieces
from athletes.importing.sheets.reading import open_table


def cells(content: bytes) -> list[list[str]]:
    return [row for _, row in open_table(content).rows()]


# The examples of section 2, with their numbers there.
@pytest.mark.parametrize(
    ("content", "rows"),
    [
        (b"aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),  # 1
        (b"aaa,bbb,ccc\r\nzzz,yyy,xxx", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),  # 2
        (b"field_name,field_name\r\naaa,bbb\r\n", [["field_name", "field_name"], ["aaa", "bbb"]]),  # 3
        (b"aaa,bbb,ccc\r\n", [["aaa", "bbb", "ccc"]]),  # 4
        (b'"aaa","bbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),  # 5
        (b'"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "b\r\nbb", "ccc"], ["zzz", "yyy", "xxx"]]),  # 6
        (b'"aaa","b""bb","ccc"', [["aaa", 'b"bb', "ccc"]]),  # 7
    ],
)
def test_its_examples_are_read(content, rows):
    assert cells(content) == rows


def test_spaces_are_part_of_a_field_but_not_of_a_name():
    # Section 2.4: “Spaces are considered part of a field”. Names and results are taken without those around them.
    assert cells(b"a b, c d \r\n") == [["a b", "c d"]]


def test_what_is_written_follows_it():
    rows = [["plain", "with, comma"], ['with "quotes"', "two\nlines"]]
    written = b"".join(csv_pieces(["a", "b"], rows)).decode("utf-8-sig")
    assert written == 'a,b\r\nplain,"with, comma"\r\n"with ""quotes""","two\nlines"\r\n'
    strictly = csv.reader(io.StringIO(written, newline=""), strict=True)
    assert list(strictly) == [["a", "b"], *rows]
