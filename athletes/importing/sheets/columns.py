"""What each column of a file is for, guessed from the words of its heading; the coach has the last word."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from athletes.importing.sheets.benches import Bench, Benches, repetitions_of
from athletes.importing.sheets.headings import HALF_NAMES, USE_OF, Use, heading_key
from athletes.importing.sheets.names import words
from athletes.importing.sheets.reading import Row

SEARCHED = 15  # first rows among which the headings are looked for


_BRACKETS = re.compile(r"[(\[]([^)\]]*)[)\]]")
UNITS = {
    "kg": "kg", "kgs": "kg", "kilograms": "kg", "kilos": "kg", "lb": "lb", "lbs": "lb", "pounds": "lb",
    "s": "s", "sec": "s", "secs": "s", "seconds": "s", "min": "min", "mins": "min", "minutes": "min",
}  # fmt: skip
_DATE = re.compile(
    r"\b(\d{4}-\d{1,2}-\d{1,2}|\d{1,2}[./-]\d{1,2}[./-](?:\d{4}|\d{2})|\d{1,2}\s+[A-Za-z]{3,9}\.?\s+\d{4})\b"
)
DAY_WORDS = frozenset(("date", "day", "when", "tested", "on"))


@dataclass(frozen=True)
class Column:
    """A column of a file. `unit` of plain numbers in it, `repetitions` and `day` of all its results: as headed."""

    index: int
    heading: str
    use: str = Use.NOTHING
    unit: str = ""
    repetitions: int | None = None
    day: str = ""

    @property
    def bench(self) -> int | None:
        """The benchmark whose results or days stand here, in the wide layout."""
        return int(self.use.partition(":")[2]) if ":" in self.use else None

    @property
    def title(self) -> str:
        return self.heading or f"column {letter(self.index)}"


def columns_of(headings: Sequence[str], benches: Benches, uses: Sequence[str] | None = None) -> list[Column]:
    """The columns under `headings`, with what they are for: as `uses` says, or guessed, each fact of a person once."""
    taken: set[str] = set()
    columns = []
    for index, heading in enumerate(headings):
        use = uses[index] if uses and index < len(uses) else _guess(heading, benches)
        if not uses and ":" not in use and use in taken:
            use = Use.NOTHING
        taken.add(use)
        columns.append(Column(index, heading, use, unit_of(heading), repetitions_of(heading), day_in(heading)))
    return columns if uses else _halves_of_names(columns)


def heading_row(rows: Sequence[Row], benches: Benches) -> int:
    """The number of the row with the headings: of the first ones, the one in which most is recognised."""

    def recognised(row: Row) -> int:
        return sum(bool(_guess(cell, benches)) for cell in row[1] if cell)

    return max(rows[:SEARCHED], key=recognised)[0]


def unit_of(heading: str) -> str:
    """kg, lb, s or min where a heading says so: “Back squat (lbs)”, “Plank sec”."""
    said = [UNITS[word] for part in _BRACKETS.findall(heading.lower()) for word in words(part) if word in UNITS]
    last = words(_BRACKETS.sub(" ", heading))[-1:]
    return (said or [UNITS[word] for word in last if word in UNITS and len(words(heading)) > 1] or [""])[0]


def day_in(heading: str) -> str:
    """The date that stands in a heading: “2k row 2025-11-03”."""
    match = _DATE.search(heading)
    return match[1] if match else ""


def letter(index: int) -> str:
    """A column as a spreadsheet names it: 0 → A, 26 → AA."""
    name = ""
    while index >= 0:
        name, index = chr(ord("A") + index % 26) + name, index // 26 - 1
    return name


def _guess(heading: str, benches: Benches) -> str:
    plain = _BRACKETS.sub(" ", heading)
    for text in (plain, heading, _without_unit(plain)):
        if use := USE_OF.get(heading_key(text)):
            return use
    without_day = _DATE.sub(" ", heading)
    bench: Bench | None = benches.find(without_day)
    if bench is None:
        return Use.NOTHING
    of_day = DAY_WORDS & set(words(without_day))
    return f"{Use.DAY_OF if of_day & {'date', 'when'} else Use.RESULT_OF}{bench.pk}"


def _without_unit(heading: str) -> str:
    """“Body mass kg” and “Weight in lb” without what their numbers are counted in."""
    said = words(heading)
    while len(said) > 1 and (said[-1] in UNITS or said[-1] == "in"):
        said.pop()
    return " ".join(said)


def _halves_of_names(columns: list[Column]) -> list[Column]:
    """“Name” beside “Vorname” is the last name, and “Nombre” beside “Apellidos” the first: nobody's whole name."""
    uses = {column.use for column in columns}
    if Use.NAME not in uses or (Use.FIRST in uses) == (Use.LAST in uses):
        return columns
    half = Use.LAST if Use.FIRST in uses else Use.FIRST
    halved = {c.index for c in columns if c.use == Use.NAME and heading_key(c.heading) in HALF_NAMES}
    return [replace(column, use=half) if column.index in halved else column for column in columns]
