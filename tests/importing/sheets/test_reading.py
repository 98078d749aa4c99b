import re
import zipfile
from datetime import date, datetime, time, timedelta
from io import BytesIO

import pytest
from openpyxl import Workbook, load_workbook

from athletes.importing.sheets import reading
from athletes.importing.sheets.reading import CannotRead, open_table, refuse_misnamed
from athletes.importing.sheets.size import SheetCounts
from tests.importing.sheets.builders import workbook

TABLE = [(1, ["Name", "Wert"]), (2, ["Élise", "7,42"])]
TEXT = "Name;Wert\r\nÉlise;7,42\r\n"


def rows(content: bytes) -> list:
    return list(open_table(content).rows())


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_any_usual_encoding_is_read(encoding):
    assert rows(TEXT.encode(encoding)) == TABLE


def test_windows_1252_is_said_and_doubted():
    table = open_table(TEXT.encode("cp1252"))
    assert table.says == "Windows-1252, columns divided by semicolons"
    assert "are they right?" in table.doubt
    assert not open_table(TEXT.encode()).doubt


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_the_delimiter_is_seen(delimiter):
    lines = [["Name", "Row", "Day"], ["Ada", "7:42.3", "3 Nov 2025"], ["Ben", "", ""]]
    content = "\n".join(delimiter.join(line) for line in lines).encode()
    assert [cells for _, cells in rows(content)] == lines


def test_decimal_commas_do_not_divide_columns():
    assert rows(b"a;b\n1,5;2,5\n3,5;4,5\n")[1] == (2, ["1,5", "2,5"])


def test_a_first_line_for_the_spreadsheet_itself_is_no_row():
    assert rows(b"sep=;\r\na;b\r\n1;2\r\n") == [(2, ["a", "b"]), (3, ["1", "2"])]


def test_rows_are_counted_as_a_spreadsheet_does():
    assert rows(b'a,b\r\n"x\ny",1\r\n\r\n,\r\n3,4\r\n') == [(1, ["a", "b"]), (2, ["x\ny", "1"]), (5, ["3", "4"])]


def test_an_apostrophe_of_an_export_is_taken_off_again():
    assert rows(b"a,b\n'=1+1,'tis\n")[1] == (2, ["=1+1", "'tis"])


def test_times_and_dates_of_a_workbook_are_what_a_person_sees():
    cells = [time(7, 42), timedelta(minutes=7, seconds=42.3), timedelta(hours=1, minutes=2, seconds=3)]
    cells += [date(2025, 11, 3), datetime(2025, 11, 3, 18, 30), 462.0, 7.5, "85x5", None, True]
    formats = {"A1": "h:mm", "B1": "mm:ss.0", "C1": "[h]:mm:ss"}
    seen = ["7:42", "7:42.3", "1:02:03", "2025-11-03", "2025-11-03", "462", "7.5", "85x5", "", "True"]
    assert rows(workbook(cells, formats=formats)) == [(1, seen)]


def test_formulas_without_their_results_are_told():
    content = workbook(["Ada", "=7*60"], ["Ben", 420])
    assert "a formula without a result: open the file in a spreadsheet program" in open_table(content).doubt
    assert not open_table(workbook(["Ada", 420])).doubt
    for cell in ('<c r="B1"><f>7*60</f><v>420</v></c>', '<c r="B1" t="str"><f>IF(A2="","","x")</f><v></v></c>'):
        counts = SheetCounts()
        counts.read(BytesIO(f"<sheetData><row>{cell}</row></sheetData>".encode()))
        assert (counts.cells, counts.without_result) == (1, False)


def test_a_time_of_day_with_hours_and_no_seconds_keeps_its_looks():
    assert rows(workbook([time(19, 5)], formats={"A1": "h:mm AM/PM"})) == [(1, ["19:05"])]
    assert rows(workbook([timedelta(hours=25, minutes=10)], formats={"A1": "[h]:mm"})) == [(1, ["25:10"])]


@pytest.mark.parametrize(
    ("number_format", "shown"),
    [
        ('0 "lb"', "140 lb"), ("#,##0\\ \\k\\g", "140 kg"), ('General" LBS"', "140 lb"), ('0" kg";-0" kg"', "140 kg"),
        ("General", "140"), ("0.00", "140"), ('0" x"', "140"), ('"kg "0', "140"), ("@", "140"),
    ],
)  # fmt: skip
def test_the_unit_of_a_load_may_stand_in_the_format_alone(number_format, shown):
    assert rows(workbook([140], formats={"A1": number_format})) == [(1, [shown])]


def test_the_first_sheet_with_something_in_it_is_taken_unless_another_is_wanted():
    book, file = Workbook(), BytesIO()
    book.create_sheet("Two").append(["x"])
    book.create_sheet("Three").append(["y"])
    book.save(file)
    table = open_table(file.getvalue())
    assert (table.sheet, table.sheets) == ("Two", ("Sheet", "Two", "Three"))
    assert list(open_table(file.getvalue(), "Three").rows()) == [(1, ["y"])]


def archive(*names: str) -> bytes:
    """A zip file that is no workbook."""
    file = BytesIO()
    with zipfile.ZipFile(file, "w") as packed:
        for name in names:
            packed.writestr(name, "x")
    return file.getvalue()


@pytest.mark.parametrize("name", ["a.xlsx", "A.XLS", "b.ods", "c.xlsm"])
def test_the_ending_of_a_workbook_is_not_believed(name):
    with pytest.raises(CannotRead, match="This is no spreadsheet"):
        refuse_misnamed(name, b"hello")
    refuse_misnamed(name, workbook(["a"]))
    refuse_misnamed("a.csv", b"hello")


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "The file is empty"),
        (b"  \r\n ", "The file is empty"),
        (b"\xd0\xcf\x11\xe0 old", "Save it as .xlsx or as CSV"),
        (b"PK\x03\x04 not a zip", "cannot be opened"),
        (workbook([None]), "The workbook is empty"),
        (bytes(range(256)) * 40, "This is no spreadsheet"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\1\0\0\0\1\x08\6\0\0\0\x1f\x15\xc4\x89", "This is no spreadsheet"),
        (b"%PDF-1.7\n1 0 obj << /Type /Catalog >> endobj\n", "This is no spreadsheet"),
        (b"<!DOCTYPE html><html><table></table></html>", "This is no spreadsheet"),
        (bytes((1, 0, 2, 0, 3, 0, 0, 4)) * 30, "This is no spreadsheet"),
        (b"\x07\x02ab\x01", "This is no spreadsheet"),
        (archive("word/document.xml"), "This is no spreadsheet"),
        (b"\xef\xbb\xbfa\xff", "says it is UTF-8, but is not"),
    ],
)
def test_what_cannot_be_read_says_what_to_do(content, sentence):
    with pytest.raises(CannotRead, match=sentence):
        rows(content)


def test_a_workbook_cut_short_says_what_to_do():
    with pytest.raises(CannotRead, match="cannot be opened"):
        rows(workbook(["a"], ["b"])[:-300])


def test_a_workbook_that_unpacks_to_gigabytes_is_refused(monkeypatch):
    monkeypatch.setattr("athletes.importing.sheets.size.MOST_UNPACKED", 100)
    with pytest.raises(CannotRead, match="too large"):
        rows(workbook(["a"]))


SPREADSHEET = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
CELL = '<c r="A1" t="inlineStr"><is><t>name</t></is></c>'
TWENTY = "<row>" + CELL * 20 + "</row>"
FILLED = "<row>" + '<c s="0"/>' * 1900 + "</row>"
STRINGS, SHEET = "xl/sharedStrings.xml", "xl/worksheets/sheet1.xml"


def in_rows(text: str, after: str = "", before: str = "") -> str:
    return f"{before}<worksheet {SPREADSHEET}><sheetData>{text}</sheetData>{after}</worksheet>"


UTF_16 = '<?xml version="1.0" encoding="utf-16"?>'
ATTRIBUTES = " ".join(f'a{number}="1"' for number in range(200_000))
MERGED = "".join(f'<mergeCell ref="A{row}:B{row}"/>' for row in range(1, 50_000))
COSTLY = {
    "shared strings": (STRINGS, f"<sst {SPREADSHEET}>{'<si><t>a</t></si>' * 1_000_000}</sst>"),
    "pieces of one string": (STRINGS, f"<sst {SPREADSHEET}><si>{'<r><t>a</t></r>' * 200_000}</si></sst>"),
    "one long string": (STRINGS, f"<sst {SPREADSHEET}><si><t>{'a' * 9_000_000}</t></si></sst>"),
    "styles": ("xl/styles.xml", f"<styleSheet {SPREADSHEET}><cellXfs>{'<xf/>' * 200_000}</cellXfs></styleSheet>"),
    "cells": (SHEET, f"<worksheet {SPREADSHEET}><sheetData>{FILLED * 1000}</sheetData></worksheet>"),
    "one row": (
        "xl/worksheets/sheet1.xml",
        f'<x:worksheet xmlns:x="a"><x:sheetData><x:row>{"<x:c/>" * 90_000}</x:row></x:sheetData></x:worksheet>',
    ),
    "attributes of one row": (SHEET, in_rows(f"<row {ATTRIBUTES}/>")),
    "attributes of many rows": (SHEET, in_rows(f"<row {ATTRIBUTES[:800]}/>" * 20_000)),
    "attributes of a style": ("xl/styles.xml", f"<styleSheet {SPREADSHEET} {ATTRIBUTES}/>"),
    "tags in tags": (SHEET, in_rows(f"<row>{'<a>' * 400_000}{'</a>' * 400_000}</row>")),
    "texts in one cell": (SHEET, in_rows(f'<row><c t="inlineStr"><is>{"<t>a</t>" * 900_000}</is></c></row>')),
    "rows without cells": (SHEET, in_rows("<row/>" * 900_000)),
    "merged cells": (SHEET, in_rows(TWENTY, f"<mergeCells>{MERGED}</mergeCells>")),
    "cells in UTF-16": (SHEET, in_rows(FILLED * 200, before=UTF_16).encode("utf-16")),
    "a long comment": (SHEET, in_rows(f"<!--{'a' * 20_000_000}-->")),
    "a long text": (SHEET, in_rows(CELL.replace("name", "a" * 60_000_000))),
}  # fmt: skip


@pytest.mark.parametrize("what", COSTLY)
def test_a_small_file_that_would_cost_much_is_refused_before_it_is_opened(what, monkeypatch):
    def opened(*args, **options):
        raise AssertionError("it was taken apart")

    monkeypatch.setattr("athletes.importing.sheets.reading.load_workbook", opened)
    content = with_member(workbook(["name"]), *COSTLY[what])
    assert len(content) < 500_000
    with pytest.raises(CannotRead, match="as CSV"):
        rows(content)


def many_sheets(count: int) -> bytes:
    book, file = Workbook(), BytesIO()
    for number in range(1, count):
        book.create_sheet(str(number)).append(["name"])
    book.save(file)
    return file.getvalue()


def test_more_sheets_than_are_shown_are_refused_and_as_many_are_opened_once(monkeypatch):
    with pytest.raises(CannotRead, match="more than 40 sheets"):
        open_table(many_sheets(41))
    opened, content = [], many_sheets(40)
    monkeypatch.setattr(reading, "load_workbook", lambda *a, **o: opened.append(1) or load_workbook(*a, **o))
    first = open_table(content)
    assert [len(open_table(content, sheet).first(9)) for sheet in first.sheets] == [0] + [1] * 39
    assert opened == [1]


def test_cells_are_counted_over_all_sheets(monkeypatch):
    monkeypatch.setattr("athletes.importing.sheets.size.MOST_CELLS", 30)
    assert open_table(many_sheets(30)).sheets
    with pytest.raises(CannotRead, match="more than 30 cells"):
        open_table(many_sheets(32))


def test_a_sheet_that_stands_in_the_list_again_and_again_is_refused():
    with zipfile.ZipFile(BytesIO(workbook(["name"]))) as book:
        said = book.read("xl/workbook.xml").decode()
    sheet = re.search("<sheet .*?/>", said)[0]
    again = said.replace(sheet, sheet + sheet.replace("Results", "Again"))
    with pytest.raises(CannotRead, match="what no spreadsheet writes"):
        open_table(with_member(workbook(["name"]), "xl/workbook.xml", again))


def test_the_first_rows_of_a_wide_sheet_are_fewer_and_its_last_row_may_be_far():
    wide = open_table(workbook(*[["x"] * 150] * 1000))
    assert len(wide.first(2000)) == 100_000 // 150
    assert sum(1 for _ in wide.rows()) == 1000
    far = (
        f'<worksheet {SPREADSHEET}><sheetData><row r="1">{CELL}</row><row r="999000000"></row></sheetData></worksheet>'
    )
    assert rows(with_member(workbook(["name"]), "xl/worksheets/sheet1.xml", far)) == [(1, ["name"])]


def with_member(content: bytes, name: str, text: str | bytes) -> bytes:
    """The workbook with one part of it replaced, or added."""
    changed = BytesIO()
    with zipfile.ZipFile(BytesIO(content)) as book, zipfile.ZipFile(changed, "w", zipfile.ZIP_DEFLATED) as other:
        for member in book.namelist():
            if member != name:
                other.writestr(member, book.read(member))
        other.writestr(name, text)
    return changed.getvalue()


def test_a_workbook_whose_text_grows_without_end_is_refused():
    entities = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 12))
    bomb = f'<!DOCTYPE x [<!ENTITY e0 "ten letters">{entities}]>'
    content = workbook(["a"])
    with zipfile.ZipFile(BytesIO(content)) as book:
        members = {name: book.read(name) for name in book.namelist()}
    sheet = members["xl/worksheets/sheet1.xml"].decode()
    members["xl/worksheets/sheet1.xml"] = (
        bomb + sheet.replace("<sheetData>", "<sheetData><row><c><v>&e11;</v></c></row>")
    ).encode()
    grown = BytesIO()
    with zipfile.ZipFile(grown, "w") as book:
        for name, member in members.items():
            book.writestr(name, member)
    with pytest.raises(CannotRead, match="cannot be opened"):
        rows(grown.getvalue())


def test_a_quote_that_is_never_closed_is_told():
    with pytest.raises(CannotRead, match="Is a quote missing"):
        rows(b'a,b\n"' + b"x" * 20_000)
    with pytest.raises(CannotRead, match="breaks off"):
        rows(b'a,b\n"' + b"x" * 1_100_000)


def test_too_many_rows_and_columns_are_told(monkeypatch):
    monkeypatch.setattr(reading, "MOST_ROWS", 3)
    with pytest.raises(CannotRead, match="more than 3 rows"):
        rows(b"a\nb\nc\nd\n")
    with pytest.raises(CannotRead, match="more than 200 columns"):
        rows(b",".join([b"x"] * 201))
    assert len(rows(b"x" + b"," * 300)[0][1]) == 200


def test_rows_come_one_by_one():
    table = open_table(b"a,b\n" * 50_000)
    assert [number for number, _ in table.first(3)] == [1, 2, 3]
    assert table.length() == 50_000
