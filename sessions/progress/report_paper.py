"""The progress report of an athlete: two pages A4, to be read from a fridge door. Drawn as vectors, own fonts."""

from dataclasses import dataclass, field
from io import BytesIO
from math import cos, pi, sin

from reportlab.lib.pagesizes import A4
from reportlab.lib.utils import simpleSplit
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from sessions.boards.paper import BOLD, INK, REGULAR, SOFT
from sessions.boards.paper import _fit as fit
from sessions.boards.paper import _fonts as register_fonts
from sessions.progress.report_curve import PaperCurve
from sessions.progress.report_curve import draw as draw_curve
from sessions.words.cards import CAUTION

WIDTH, HEIGHT = A4
MARGIN = 48.0
INNER = WIDTH - 2 * MARGIN
ACCENT, LINE = (0.06, 0.36, 0.34), (0.80, 0.77, 0.71)
ROW = 22.0
CURVE = 160.0  # as high as the power–duration curve
SMALLEST = 10.0  # what is too long is written smaller down to this, and then cut
MOST_RESULTS, MOST_TRENDS, MOST_GOALS = 12, 4, 3
COLUMNS = (0.0, 0.38, 0.56, 0.70)  # of the inner width: benchmark, best, day, what changed


@dataclass(frozen=True)
class Trend:
    """Results of a benchmark over time: places across and heights, each 0 to 1, better higher; first and last in words.

    `best` says which of the n results were the best on their day.
    """

    name: str
    across: list[float]
    up: list[float]
    best: list[bool]
    first: str
    last: str


@dataclass(frozen=True)
class Report:
    """All words and numbers of the two pages. `results` rows: benchmark, best, day, what changed, whether a record.

    `weeks` are (first day in words, load or None).
    """

    name: str
    gym: str
    period: str
    headline: str
    results: list[tuple[str, str, str, str, bool]]
    trends: list[Trend]
    consistency: list[str]
    weeks: list[tuple[str, float | None]]
    goals: list[str]
    curve: PaperCurve | None = None
    rules: str = ""
    notes: list[str] = field(default_factory=list)


def pages(report: Report) -> bytes:
    """The two pages as PDF."""
    register_fonts()
    buffer = BytesIO()
    canvas = Canvas(buffer, pagesize=A4, pageCompression=1, invariant=1)
    canvas.setTitle(f"Progress of {report.name}, {report.period}")
    canvas.setAuthor(report.gym)
    _results_page(canvas, report)
    canvas.showPage()
    _consistency_page(canvas, report)
    canvas.save()
    return buffer.getvalue()


def _results_page(canvas: Canvas, report: Report) -> None:
    y = _head(canvas, report, "Best results")
    y = _paragraph(canvas, report.headline, y, 15)
    y = _results(canvas, report.results[:MOST_RESULTS], y - 8)
    left_out = len(report.results) - MOST_RESULTS
    if left_out > 0:
        y = _paragraph(canvas, f"And {left_out} more on the athlete's page.", y - 4, 11, colour=SOFT)
    for n, trend in enumerate(report.trends[:MOST_TRENDS]):
        x, top = MARGIN + (n % 2) * INNER * 0.52, y - 24 - (n // 2) * 122
        _trend(canvas, trend, x, top, INNER * 0.48, 66)
    _foot(canvas, report, 1)


def _consistency_page(canvas: Canvas, report: Report) -> None:
    y = _head(canvas, report, "Training")
    for sentence in report.consistency:
        y = _paragraph(canvas, sentence, y, 15)
    if any(load is not None for _, load in report.weeks):
        y = _bars(canvas, report.weeks, y - 26, 150 if report.curve else 190)
    if report.curve:
        y = draw_curve(canvas, report.curve, MARGIN, y - 18, INNER, CURVE)
    if report.goals:
        y = _title(canvas, "Next", y - 40)
    for goal in report.goals[:MOST_GOALS]:
        y = _paragraph(canvas, goal, y - 4, 15, bullet=True)
    for note in report.notes:
        y = _paragraph(canvas, note, y - 10, 11, colour=SOFT)
    _foot(canvas, report, 2)


def _head(canvas: Canvas, report: Report, title: str) -> float:
    y = HEIGHT - MARGIN - 26
    _text(canvas, fit(report.name, BOLD, 28, INNER), MARGIN, y, BOLD, 28)
    _text(canvas, fit(f"{report.gym} · {report.period}", REGULAR, 12, INNER), MARGIN, y - 18, REGULAR, 12, SOFT)
    return _title(canvas, title, y - 58)


def _title(canvas: Canvas, title: str, y: float) -> float:
    canvas.setStrokeColorRGB(*ACCENT)
    canvas.setLineWidth(2)
    canvas.line(MARGIN, y + 22, WIDTH - MARGIN, y + 22)
    _text(canvas, title, MARGIN, y, BOLD, 18)
    return y - 12


def _results(canvas: Canvas, rows: list[tuple[str, str, str, str, bool]], y: float) -> float:
    """A table; the star of a personal best is drawn, so that no font has to have it."""
    edges = [MARGIN + share * INNER for share in COLUMNS] + [WIDTH - MARGIN]
    for *cells, record in rows:
        y -= ROW
        canvas.setStrokeColorRGB(*LINE)
        canvas.setLineWidth(0.5)
        canvas.line(MARGIN, y - 6, WIDTH - MARGIN, y - 6)
        for n, cell in enumerate(cells):
            font, width = (BOLD if n == 1 else REGULAR), edges[n + 1] - edges[n] - 8
            size = _size(cell, font, 13, width)
            _text(canvas, fit(cell, font, size, width), edges[n], y, font, size, SOFT if n == 2 else INK)
        if record:
            _star(canvas, MARGIN - 12, y + 4, 6)
    return y - 14


def _trend(canvas: Canvas, trend: Trend, x: float, top: float, width: float, height: float) -> None:
    """A line through the results over time, records as stars; first and last result in words under it."""
    _text(canvas, fit(trend.name, BOLD, 12, width), x, top, BOLD, 12)
    low = top - 14 - height
    points = [
        (x + 6 + a * (width - 12), low + 6 + b * (height - 12)) for a, b in zip(trend.across, trend.up, strict=True)
    ]
    canvas.setStrokeColorRGB(*SOFT)
    canvas.setLineWidth(1.2)
    for start, end in zip(points[:-1], points[1:], strict=True):
        canvas.line(*start, *end)
    for point, best in zip(points, trend.best, strict=True):
        if best:
            _star(canvas, *point, 5)
        else:
            canvas.setFillColorRGB(*INK)
            canvas.circle(*point, 2.4, stroke=0, fill=1)
    size = min(_size(words, REGULAR, 10, width / 2 - 4, 7.5) for words in (trend.first, trend.last))
    _text(canvas, trend.first, x, low - 10, REGULAR, size, SOFT)
    canvas.drawRightString(x + width, low - 10, trend.last)


def _bars(canvas: Canvas, weeks: list[tuple[str, float | None]], top: float, height: float) -> float:
    """Load by week; a week without a known load has no bar, and a dash below the line."""
    _text(canvas, "Load by week: RPE × minutes", MARGIN, top, BOLD, 12)
    low, most = top - 20 - height, max((load for _, load in weeks if load is not None), default=0.0) or 1.0
    place = INNER / len(weeks)
    canvas.setStrokeColorRGB(*INK)
    canvas.setLineWidth(0.8)
    canvas.line(MARGIN, low, WIDTH - MARGIN, low)
    every = -(-len(weeks) // 8)  # as many days as there is room for
    for n, (first, load) in enumerate(weeks):
        x = MARGIN + n * place
        if load is None:
            canvas.setStrokeColorRGB(*SOFT)
            canvas.line(x + 0.35 * place, low - 4, x + 0.65 * place, low - 4)
        else:
            canvas.setFillColorRGB(*ACCENT)
            canvas.rect(x + 0.15 * place, low, 0.7 * place, height * load / most, stroke=0, fill=1)
            if len(weeks) <= 16:
                canvas.setFillColorRGB(*INK)
                canvas.setFont(REGULAR, 10)
                canvas.drawCentredString(x + place / 2, low + height * load / most + 4, f"{load:.0f}")
        if n % every == 0:
            _text(canvas, first, x, low - 18, REGULAR, 10, SOFT)
    return low - 30


def _size(text: str, font: str, size: float, width: float, least: float = SMALLEST) -> float:
    """The size, at most `size` and not below `least`, in which the text is as wide as there is room."""
    return max(least, min(size, size * width / stringWidth(text, font, size))) if text else size


def _paragraph(canvas: Canvas, text: str, y: float, size: float, colour=INK, bullet: bool = False) -> float:
    x = MARGIN + (18 if bullet else 0)
    for n, line in enumerate(simpleSplit(text, REGULAR, size, WIDTH - MARGIN - x)):
        y -= size * 1.35
        if bullet and n == 0:
            canvas.setFillColorRGB(*ACCENT)
            canvas.rect(MARGIN + 3, y + size * 0.18, 6, 6, stroke=0, fill=1)
        _text(canvas, line, x, y, REGULAR, size, colour)
    return y


def _foot(canvas: Canvas, report: Report, page: int) -> None:
    lines = (
        simpleSplit(CAUTION, REGULAR, 9, INNER) + simpleSplit(report.rules.replace("\n", " "), REGULAR, 9, INNER)[:2]
    )
    for n, line in enumerate(lines):
        _text(canvas, line, MARGIN, MARGIN - 8 + 11 * (len(lines) - 1 - n), REGULAR, 9, SOFT)
    canvas.drawRightString(WIDTH - MARGIN, MARGIN - 22, f"{page} / 2")


def _star(canvas: Canvas, x: float, y: float, size: float) -> None:
    path = canvas.beginPath()
    for n in range(10):
        reach, angle = (size if n % 2 == 0 else size * 0.45), pi / 2 + n * pi / 5
        (path.moveTo if n == 0 else path.lineTo)(x + reach * cos(angle), y + reach * sin(angle))
    path.close()
    canvas.setFillColorRGB(*ACCENT)
    canvas.drawPath(path, stroke=0, fill=1)


def _text(canvas: Canvas, text: str, x: float, y: float, font: str, size: float, colour=INK) -> None:
    canvas.setFillColorRGB(*colour)
    canvas.setFont(font, size)
    canvas.drawString(x, y, text)
