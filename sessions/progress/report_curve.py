"""The power–duration curve on paper: then and now, with what can be held at a few lengths written beside it."""

from dataclasses import dataclass

import numpy as np
from reportlab.pdfgen.canvas import Canvas

from sessions.boards.paper import BOLD, INK, REGULAR, SOFT

ACCENT, WASH = (0.06, 0.36, 0.34), (0.87, 0.92, 0.90)
HEAD, FOOT = 36.0, 20.0


@dataclass(frozen=True)
class PaperCurve:
    """Best even power over `duration_s`, (n,) each, in any unit where more is better: `now` with its likely range
    `low` to `high`, and `then` on an earlier day, or None. `ticks` are the lengths in words with their places in
    `duration_s`, `held` what `now` is there, in words.
    """

    title: str
    then_words: str
    duration_s: np.ndarray
    now: np.ndarray
    low: np.ndarray
    high: np.ndarray
    then: np.ndarray | None
    ticks: list[tuple[int, str]]
    held: list[str]


def draw(canvas: Canvas, curve: PaperCurve, x: float, top: float, width: float, height: float) -> float:
    """Draw it into a box with its upper left corner at (x, top); the height at which it ends."""
    low_y, high_y = top - height + FOOT, top - HEAD
    across = np.log(curve.duration_s)
    places = x + width * (across - across[0]) / (across[-1] - across[0])
    lines = [curve.low, curve.high, *([] if curve.then is None else [curve.then])]
    least, most = min(map(np.min, lines)), max(map(np.max, lines))

    def heights(values: np.ndarray) -> np.ndarray:
        return low_y + (high_y - low_y) * (values - least) / (most - least)

    _words(canvas, curve, x, top)
    band = canvas.beginPath()
    band.moveTo(places[0], heights(curve.high)[0])
    for edge, step in ((curve.high, 1), (curve.low, -1)):
        for point in zip(places[::step], heights(edge)[::step], strict=True):
            band.lineTo(*point)
    band.close()
    canvas.setFillColorRGB(*WASH)
    canvas.drawPath(band, stroke=0, fill=1)
    if curve.then is not None:
        _line(canvas, places, heights(curve.then), SOFT, 1.2, dash=(5, 4))
    _line(canvas, places, heights(curve.now), ACCENT, 2.4)
    for (place, words), held in zip(curve.ticks, curve.held, strict=True):
        _tick(canvas, places[place], heights(curve.now)[place], words, held, (x, x + width, low_y))
    return top - height


def _words(canvas: Canvas, curve: PaperCurve, x: float, top: float) -> None:
    canvas.setFillColorRGB(*INK)
    canvas.setFont(BOLD, 12)
    canvas.drawString(x, top, curve.title)
    canvas.setFillColorRGB(*SOFT)
    canvas.setFont(REGULAR, 10)
    canvas.drawString(x, top - 13, curve.then_words)


def _line(canvas: Canvas, places: np.ndarray, heights: np.ndarray, colour, width: float, dash=None) -> None:
    path = canvas.beginPath()
    path.moveTo(places[0], heights[0])
    for point in zip(places[1:], heights[1:], strict=True):
        path.lineTo(*point)
    canvas.setStrokeColorRGB(*colour)
    canvas.setLineWidth(width)
    canvas.setDash(*(dash or ()))
    canvas.drawPath(path, stroke=1, fill=0)
    canvas.setDash()


def _tick(canvas: Canvas, x: float, y: float, words: str, held: str, box: tuple[float, float, float]) -> None:
    """A point on the curve with what can be held there above it, and its length at the foot."""
    left, right, foot = box
    canvas.setFillColorRGB(*ACCENT)
    canvas.circle(x, y, 3, stroke=0, fill=1)
    for text, font, height, colour in ((held, BOLD, y + 7, INK), (words, REGULAR, foot - 14, SOFT)):
        half = canvas.stringWidth(text, font, 10) / 2
        canvas.setFillColorRGB(*colour)
        canvas.setFont(font, 10)
        canvas.drawCentredString(min(max(x, left + half), right - half), height, text)
