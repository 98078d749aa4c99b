"""The printed board: one table per session, A3 or A4 landscape, drawn without any system library."""

from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from math import ceil
from pathlib import Path

from reportlab.lib.pagesizes import A3, A4, landscape
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from athletes.words import day
from sessions.boards import files
from sessions.boards.phone import head
from sessions.boards.wall import Line, board_lines, swaps_in_use
from sessions.classes.definition import ClassPart
from sessions.models import Publication, PublishedSession
from sessions.words.cards import CAUTION, Card, rung_mark, written_dose

SIZES = {"a3": landscape(A3), "a4": landscape(A4)}
MARGIN = 28.0
NAME_SHARE = 0.16  # of the width, for names
NARROW_NAMES = 1.3  # as many times that, where two blocks stand side by side
GUTTER = 22.0  # between them, points
LEAST_COLUMN, LEAST_BESIDE = 36.0, 30.0  # room for a dose, and for what stands beside it, points
LARGEST, READABLE, SMALLEST = 14.0, 10.0, 7.0  # type sizes, points: of rows from readable on (common practice)
LEADING = 1.35
PARTS_LINE = 15.0  # points, for the parts of a class
INK, SOFT = (0.11, 0.11, 0.10), (0.35, 0.33, 0.29)
REGULAR, BOLD = "Board", "BoardBold"


@dataclass(frozen=True)
class Sheet:
    """Where things stand on a page of a session's table, in points. `rows` in each of its `blocks` side by side."""

    width: float
    height: float
    type_size: float
    rows: int
    blocks: int = 1

    @property
    def row_height(self) -> float:
        return self.type_size * LEADING

    @property
    def block_width(self) -> float:
        return (self.width - 2 * MARGIN - (self.blocks - 1) * GUTTER) / self.blocks

    def left(self, block: int) -> float:
        return MARGIN + block * (self.block_width + GUTTER)

    def column(self, station: int, stations: int, block: int | None = None) -> float:
        """Where a station's column begins; without a block that of the head, as wide as the page."""
        left, width = (MARGIN, self.width - 2 * MARGIN) if block is None else (self.left(block), self.block_width)
        share = NAME_SHARE * (1 if self.blocks == 1 or block is None else NARROW_NAMES)
        return left + width * (share + (1 - share) * station / stations)


def sheets(publication: Publication) -> dict[str, str]:
    """Draw the week in every page size and keep it; the files' names by the fields of a publication that name them."""
    sessions = [(session, board_lines(publication, session)) for session in publication.sessions.all()]
    return {f"paper_{size}": files.write(board(publication, sessions, size), ".pdf") for size in SIZES}


def board(publication: Publication, sessions: list[tuple[PublishedSession, list[Line]]], size: str) -> bytes:
    """The whole week as PDF in the page size "a3" or "a4": every session begins on a page of its own."""
    _fonts()
    buffer = BytesIO()
    canvas = Canvas(buffer, pagesize=SIZES[size], pageCompression=1, invariant=1)
    canvas.setTitle(f"{publication.content['gym']['name']}, week {publication.week}")
    for session, lines in sessions:
        _session(canvas, publication, session, lines, SIZES[size])
    canvas.save()
    return buffer.getvalue()


def _session(canvas: Canvas, publication: Publication, session: PublishedSession, lines: list[Line], page) -> None:
    top = _head_height(session, lines, page)
    columns = len(session.definition.stations) + (0 if session.definition.on_the_clock else 1)
    sheet = _sheet(page, len(lines), columns, page[1] - 2 * MARGIN - top - 3 * SMALLEST * LEADING)
    on_a_page = sheet.rows * sheet.blocks
    for start in range(0, max(len(lines), 1), on_a_page):
        _head(canvas, publication, session, lines, sheet)
        shown = lines[start : start + on_a_page]
        for block in range(sheet.blocks):
            own = shown[block * sheet.rows : (block + 1) * sheet.rows]
            _rows(canvas, session, own, sheet, block, sheet.height - MARGIN - top)
        _foot(canvas, publication, sheet)
        canvas.showPage()


def _sheet(page: tuple[float, float], lines: int, columns: int, room: float) -> Sheet:
    """One block of rows where everyone fits in readable type, else two side by side, with doses alone; on the fewest
    pages, with as many rows on each, and then in the largest type that fits.
    """
    most = max(1, int(room / (READABLE * LEADING)) - 1)
    half = (page[0] - 2 * MARGIN - GUTTER) / 2
    narrow = half * (1 - NAME_SHARE * NARROW_NAMES) / columns < LEAST_COLUMN
    blocks = 1 if lines <= most or narrow else 2
    pages = ceil(max(lines, 1) / (most * blocks))
    rows = ceil(max(lines, 1) / pages / blocks)
    return Sheet(*page, min(LARGEST, room / (rows + 1) / LEADING), rows, blocks)


def _head_height(session: PublishedSession, lines: list[Line], page: tuple[float, float]) -> float:
    deepest = max(len(swaps_in_use(lines, station)) + 1 for station in session.definition.stations)
    return 46 + 13 * (deepest + 1) + (PARTS_LINE if session.class_parts else 0)


def _head(canvas: Canvas, publication: Publication, session: PublishedSession, lines: list[Line], sheet: Sheet) -> None:
    facts, stations = head(session), session.definition.stations
    y = sheet.height - MARGIN - 18
    canvas.setFillColorRGB(*INK)
    canvas.setFont(BOLD, 20)
    canvas.drawString(MARGIN, y, f"{session.date:%A} {day(session.date)} · {facts['name']}")
    canvas.setFont(REGULAR, 11)
    canvas.drawString(MARGIN, y - 16, _facts_text(facts))
    canvas.drawRightString(sheet.width - MARGIN, y, f"{publication.content['gym']['name']} · {publication.week}")
    if session.class_parts:
        text = "  ·  ".join(_part_text(part) for part in session.class_parts)
        canvas.drawString(MARGIN, y - 31, _fit(text, REGULAR, 11, sheet.width - 2 * MARGIN))
        y -= PARTS_LINE
    columns = len(stations) + (0 if session.definition.on_the_clock else 1)
    if columns > len(stations):
        canvas.setFont(BOLD, 10)
        canvas.drawString(sheet.column(len(stations), columns), y - 36, "expect")
    for index, station in enumerate(stations):
        x = sheet.column(index, columns)
        width = sheet.column(index + 1, columns) - x - 6
        shown = [(0, station.prescribed), *swaps_in_use(lines, station)]
        for place, (rung, option) in enumerate(shown):
            font = BOLD if rung == 0 else REGULAR
            mark = f"{index + 1}" if rung == 0 else rung_mark(rung)
            dose = written_dose(option)
            text = f"{mark}  {dose} {option.movement.name}"  # the dose first: a long name may be cut
            size = max(SMALLEST, min(10.0, 10.0 * width / pdfmetrics.stringWidth(text, font, 10)))
            canvas.setFont(font, size)
            canvas.drawString(x, y - 36 - 13 * place, _fit(text, font, size, width))


def _facts_text(facts: dict) -> str:
    parts = (", ".join(facts["hours"]), facts["shape"], facts["intent"], facts["caution"], facts["note"])
    return " · ".join(part for part in parts if part)


def _part_text(part: ClassPart) -> str:
    words = f": {' '.join(part.words.split())}" if part.words and not part.session else ""
    return f"{part.minutes} {part.heading}{words}"


def _rows(canvas: Canvas, session: PublishedSession, lines: list[Line], sheet: Sheet, block: int, top: float) -> None:
    stations = len(session.definition.stations)
    columns = stations + (0 if session.definition.on_the_clock else 1)
    size, y, left = sheet.type_size, top, sheet.left(block)
    right = left + sheet.block_width
    canvas.setLineWidth(0.4)
    if sheet.blocks > 1:  # the head stands above the page, so each block has its numbers
        canvas.setFillColorRGB(*SOFT)
        canvas.setFont(REGULAR, SMALLEST + 1)
        for station in range(stations):
            canvas.drawString(sheet.column(station, columns, block), y + 2, f"{station + 1}")
    for line in lines:
        canvas.setStrokeColorRGB(0.8, 0.77, 0.71)
        canvas.line(left, y, right, y)
        y -= sheet.row_height
        baseline = y + 0.32 * size
        canvas.setFillColorRGB(*INK)
        canvas.setFont(BOLD, size)
        canvas.drawString(left, baseline, _fit(line.name, BOLD, size, sheet.column(0, columns, block) - left - 4))
        if line.expected:
            x = sheet.column(stations, columns, block)
            canvas.setFont(BOLD, size)
            canvas.drawString(x, baseline, _fit(line.expected, BOLD, size, right - x))
        for card in line.cards:
            x = sheet.column(card.number - 1, columns, block)
            _cell(canvas, card, line.first_time, x, baseline, size, sheet.column(card.number, columns, block) - x - 6)


def _cell(canvas: Canvas, card: Card, first_time: bool, x: float, y: float, size: float, width: float) -> None:
    canvas.setFillColorRGB(*INK)
    canvas.setFont(BOLD, size)
    dose = f"{rung_mark(card.rung)} {card.dose} {card.unit}".strip()
    if not card.dose:
        dose = "with coach" if card.with_coach else "rest"
    elif first_time:  # nobody's first time is a figure in front of everyone
        dose = f"{rung_mark(card.rung)} by feel".strip()
    fitting = min(size, size * width / max(_width(dose, BOLD, size), 1.0))
    canvas.setFont(BOLD, max(SMALLEST, fitting))
    canvas.drawString(x, y, dose)
    beside = " · ".join(part for part in (card.rounds, f"{card.hold} {card.hold_unit}".strip()) if part)
    if not beside or first_time:
        return
    used = _width(dose, BOLD, size) + 6
    if width - used < LEAST_BESIDE:
        return
    canvas.setFillColorRGB(*SOFT)
    canvas.setFont(REGULAR, size)
    canvas.drawString(x + used, y, _fit(beside, REGULAR, size, width - used))


def _foot(canvas: Canvas, publication: Publication, sheet: Sheet) -> None:
    canvas.setFillColorRGB(*SOFT)
    canvas.setFont(REGULAR, SMALLEST + 1)
    canvas.drawString(MARGIN, MARGIN - 4, _fit(CAUTION, REGULAR, SMALLEST + 1, sheet.width - 2 * MARGIN))
    rules = publication.content["gym"]["local_rules"].replace("\n", " ")
    canvas.drawString(MARGIN, MARGIN - 14, _fit(rules, REGULAR, SMALLEST + 1, sheet.width - 2 * MARGIN))


# The same few doses stand in a board again and again.
_width = lru_cache(maxsize=20_000)(pdfmetrics.stringWidth)


@lru_cache(maxsize=20_000)
def _fit(text: str, font: str, size: float, width: float) -> str:
    """The text, cut with an ellipsis where it is wider than there is room."""
    if _width(text, font, size) <= width:
        return text
    while text and _width(text + "…", font, size) > width:
        text = text[:-1]
    return text + "…"


def _fonts() -> None:
    folder = Path(__file__).parent / "fonts"
    for name, file in ((REGULAR, "BarlowSemiCondensed-Regular.ttf"), (BOLD, "BarlowSemiCondensed-Bold.ttf")):
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, folder / file))
