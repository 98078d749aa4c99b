"""What each column is for, guessed from its heading or from what stands in it; the coach has the last word."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from athletes.efforts import parsing
from athletes.efforts.parsing import NotUnderstood
from athletes.importing.sheets.benches import Benches, repetitions_of
from athletes.importing.sheets.dates import Order, read_day
from athletes.importing.sheets.headings import HALF_NAMES, USE_OF, WEIGHT, Use
from athletes.importing.sheets.names import words, words_key
from athletes.importing.sheets.reading import Row

HOURS, MINUTES = "hours", "minutes"  # 1:41:00 as 1 h 41 min, or as 1 min 41 s
SECONDS, HUNDREDTHS = "seconds", "hundredths"  # 8.22 below “min” as 8 min 22 s, or as 8 minutes and 22 hundredths
SEARCHED = 15  # first rows among which the headings are looked for
YOUNGEST = 10  # years: who is tested is older, and tests are rarely that long ago (ours)
# What people write where there is nothing to say.
NOT_SAID = frozenset(("", "-", "–", "—", "n/a", "na", "dns", "dnt", "x", ".", "?", "none", "#n/a"))
_BRACKETS = re.compile(r"[(\[]([^)\]]*)[)\]]")
UNITS = {
    "kg": "kg", "kgs": "kg", "kilograms": "kg", "kilos": "kg", "lb": "lb", "lbs": "lb", "pounds": "lb",
    "s": "s", "sec": "s", "secs": "s", "seconds": "s", "min": "min", "mins": "min", "minutes": "min",
}  # fmt: skip
LOADS = ("kg", "lb")
COLONS = re.compile(r"\d{1,3}:[0-5]\d:[0-5]\d(?:\.\d+)?")
_REPETITIONS = re.compile(r"\b(?:reps?|repetitions?|wdh|wiederholungen)\b", re.IGNORECASE)
_HOW = re.compile(r"\s*\([^()]*\)$")
POINT = re.compile(r"\d{1,3}\.[0-5]\d?")
_POUNDS = re.compile(r"(?:^|[^a-z])(?:lbs?|pounds?)(?:[^a-z]|$)", re.IGNORECASE)
_DATE = re.compile(
    r"\b(\d{4}-\d{1,2}-\d{1,2}|\d{1,2}[./-]\d{1,2}[./-](?:\d{4}|\d{2})|\d{1,2}\s+[A-Za-z]{3,9}\.?\s+\d{4}"
    r"|[A-Za-z]{3,9}\.?\s+\d{1,2},?\s+\d{4})\b"
)


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
        """The benchmark whose results, repetitions or days stand here, in the wide layout."""
        return int(self.use.partition(":")[2]) if ":" in self.use else None

    @property
    def title(self) -> str:
        return self.heading or f"column {letter(self.index)}"


@dataclass(frozen=True)
class Plan:
    """How a file is to be read: its columns, the order of its dates, and what its headings do not say."""

    columns: tuple[Column, ...]
    benches: Benches
    today: date
    order: Order | None = None
    day: date | None = None  # of all results that have none of their own
    load_unit: str = "kg"  # of plain loads and body masses; empty where it is not known, which is then a problem
    bench: int | None = None  # the benchmark of all results that name none
    clock: str = HOURS  # what 1:41:00 is
    point: str = HUNDREDTHS  # what 8.22 in minutes is
    plain_point: str = ""  # the same where no heading says minutes and seconds are impossible; empty: ask

    def having(self, use: str) -> Column | None:
        return next((column for column in self.columns if column.use == use), None)

    def title(self, *uses: str) -> str:
        """The heading of the first of these uses that a column has; empty when none has."""
        return next((column.title for use in uses if (column := self.having(use))), "")


def columns_of(headings: Sequence[str], benches: Benches, uses: Sequence[str] | None = None) -> list[Column]:
    """The columns under `headings`, with what they are for: as `uses` says, or guessed, each fact of a person once."""
    guesses = [_guess(heading, benches) for heading in headings]
    own = any(use == Use.MASS and not _only_weight(heading) for heading, use in zip(headings, guesses, strict=True))
    taken: set[str] = set()
    columns = []
    for index, heading in enumerate(headings):
        use = uses[index] if uses and index < len(uses) else guesses[index]
        beside_own = use == Use.MASS and own and _only_weight(heading)
        if not uses and ":" not in use and (use in taken or beside_own):
            use = Use.NOTHING
        taken.add(use)
        columns.append(Column(index, heading, use, unit_of(heading), repetitions_of(heading), day_in(heading)))
    return columns if uses else _weights(_halves_of_names(_repetitions(columns, benches)))


def proposed(columns: Sequence[Column], rows: Sequence[Row], benches: Benches, today: date) -> dict[int, str]:
    """Uses of columns whose headings say nothing, by index; each use that no other column has, once.

    “Weight” beside columns of lifts is a guess too, and is asked about.
    """
    taken = {column.use for column in columns}
    uses: dict[int, str] = {c.index: c.use for c in columns if c.use == Use.MASS and _only_weight(c.heading)}
    for column in columns:
        if column.use:
            continue
        cells = [row[column.index] for _, row in rows if column.index < len(row)]
        said = [cell for cell in cells if cell.lower() not in NOT_SAID]
        use = _seems(said, benches, today) if said else Use.NOTHING
        if use and use not in taken:
            taken.add(use)
            uses[column.index] = use
    # A result says something only beside the name of its benchmark.
    return {index: use for index, use in uses.items() if use != Use.RESULT or Use.BENCHMARK in taken}


def headed_by_days(columns: Sequence[Column]) -> list[Column]:
    """Columns without a use that are headed by nothing but a day: what was tested on it stands somewhere else."""
    return [column for column in columns if not column.use and column.day and not words(_DATE.sub("", column.heading))]


def days_of(columns: Sequence[Column], bench: int) -> list[Column]:
    """The columns, with the results of this benchmark in those that are headed by days."""
    days = headed_by_days(columns)
    return [replace(column, use=f"{Use.RESULT_OF}{bench}") if column in days else column for column in columns]


def of_one_benchmark(columns: Sequence[Column]) -> list[list[Column]]:
    """Columns with results of one benchmark that are not each of a day of their own: one may well be something else."""
    by_use: dict[str, list[Column]] = {}
    for column in columns:
        if column.use.startswith(Use.RESULT_OF):
            by_use.setdefault(column.use, []).append(column)
    days = {use: {column.day for column in several} - {""} for use, several in by_use.items()}
    return [several for use, several in by_use.items() if len(several) > max(1, len(days[use]))]


def heading_row(rows: Sequence[Row], benches: Benches) -> int:
    """The number of the row with the headings: of the first ones, the one in which most is recognised."""

    def recognised(row: Row) -> int:
        return sum(bool(_guess(cell, benches)) for cell in row[1] if cell)

    return max(rows[:SEARCHED], key=recognised)[0]


def headings_at(rows: Sequence[Row], number: int) -> tuple[int, list[str]]:
    """The headings that stand in a row, and the number of the last row of them: “kg” and “reps” may stand below."""
    at = next((place for place, row in enumerate(rows) if row[0] == number), 0)
    at -= at > 0 and _says_how(rows[at][1])
    headings = list(rows[at][1])
    width = max(place for _, cells in rows[at:] for place, text in enumerate(cells, start=1) if text)
    headings += [""] * (width - len(headings))
    if at + 1 == len(rows) or not _says_how(rows[at + 1][1]):
        return max(number, rows[at][0]), headings
    last, below = rows[at + 1]
    for place, how in enumerate(below):
        if how:
            spans = next((heading for heading in reversed(headings[: place + 1]) if heading), "")
            headings[place] = f"{_HOW.sub('', spans)} ({how})".strip()
    return last, headings


def _says_how(cells: Sequence[str]) -> bool:
    """Whether a row says nothing but in what the results below it are counted."""
    said = [words_key(cell) for cell in cells if cell]
    return bool(said) and all(cell in UNITS or USE_OF.get(cell) in (Use.REPETITIONS, Use.RESULT) for cell in said)


def unit_of(heading: str) -> str:
    """kg, lb, s or min where a heading says so: “Back squat (lbs)”, “Plank sec”, “kg”."""
    said = [UNITS[word] for part in _BRACKETS.findall(heading.lower()) for word in words(part) if word in UNITS]
    last = words(_BRACKETS.sub(" ", heading))[-1:]
    if len(words(heading)) == 1:  # “min” may be a minimum, and “s” anything
        last = [word for word in last if UNITS.get(word) in LOADS]
    return (said or [UNITS[word] for word in last if word in UNITS] or [""])[0]


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
        if use := USE_OF.get(words_key(text)):
            return use
    without_day = _DATE.sub(" ", heading)
    if (bench := benches.find(without_day)) is None:
        lift = benches.find(_REPETITIONS.sub(" ", without_day))
        of_lift = lift and lift.measure == "lift" and _REPETITIONS.search(without_day)
        return f"{Use.REPETITIONS_OF}{lift.pk}" if of_lift else Use.NOTHING
    return f"{Use.DAY_OF if {'date', 'when'} & set(words(without_day)) else Use.RESULT_OF}{bench.pk}"


def _without_unit(heading: str) -> str:
    """“Body mass kg” and “Weight in lb” without what their numbers are counted in."""
    said = words(heading)
    while len(said) > 1 and (said[-1] in UNITS or said[-1] == "in"):
        said.pop()
    return " ".join(said)


def _repetitions(columns: list[Column], benches: Benches) -> list[Column]:
    """“Reps” right beside the loads of a lift holds the repetitions of that lift."""
    found: list[Column] = []
    for column in columns:
        before = found[-1] if found else None
        beside = before and before.use.startswith(Use.RESULT_OF) and benches.by_id[before.bench].measure == "lift"
        if beside and _guess(column.heading, benches) == Use.REPETITIONS:
            column = replace(column, use=f"{Use.REPETITIONS_OF}{before.bench}")
        found.append(column)
    return found


def _halves_of_names(columns: list[Column]) -> list[Column]:
    """“Name” beside “Vorname” is the last name, and “Nombre” beside “Apellidos” the first: nobody's whole name. “Last”,
    a load in German, is a name beside “First”."""
    uses = {column.use for column in columns}
    if "first" in (keys := [words_key(column.heading) for column in columns]) and Use.LAST not in uses:
        columns = [replace(c, use=Use.LAST) if key == "last" else c for c, key in zip(columns, keys, strict=True)]
        uses = {column.use for column in columns}
    if Use.NAME not in uses or (Use.FIRST in uses) == (Use.LAST in uses):
        return columns
    half = Use.LAST if Use.FIRST in uses else Use.FIRST
    halved = {c.index for c in columns if c.use == Use.NAME and words_key(c.heading) in HALF_NAMES}
    return [replace(column, use=half) if column.index in halved else column for column in columns]


def _weights(columns: list[Column]) -> list[Column]:
    """“Weight” or “kg” beside a lift's name or its repetitions is what was lifted, and nobody's body mass.

    Of several it is the first one behind the lift: whoever writes both gives people's own weight with the people.
    """
    lift = next((column.index for column in columns if column.use in (Use.BENCHMARK, Use.REPETITIONS)), None)
    weights = [column.index for column in columns if _may_be_load(column)]
    if lift is None or not weights or any(column.use == Use.LOAD for column in columns):
        return columns
    load = next((index for index in weights if index > lift), weights[-1])
    return [replace(column, use=Use.LOAD) if column.index == load else column for column in columns]


def _may_be_load(column: Column) -> bool:
    """Whether it is headed by “weight” alone, which may have been taken for a body mass, or by nothing but its unit."""
    free = column.use in (Use.MASS, Use.NOTHING)
    return free and (_only_weight(column.heading) or UNITS.get(words_key(column.heading)) in LOADS)


def _only_weight(heading: str) -> bool:
    return _without_unit(_BRACKETS.sub(" ", heading)) in WEIGHT


def clock_in(texts: Iterable[str]) -> tuple[str, str]:
    """What times with two colons mean, seen from all of them, and one of them where there are any.

    A spreadsheet takes 1:41 for hours and minutes, and shows 1:41:00: where every one ends in :00, that is likely.
    """
    found = [text for text in texts if COLONS.fullmatch(text)]
    if not found:
        return HOURS, ""
    return (MINUTES if all(text.split(":")[2].strip("0.") == "" for text in found) else HOURS), found[0]


def point_in(texts: Iterable[str]) -> tuple[str, str]:
    """What numbers with a point mean where minutes are counted, seen from all of them, and one where that is open.

    Seconds end at 59: where a number goes on, all are parts of a minute.
    """
    found = [text.replace(",", ".") for text in texts if is_number(text.replace(",", ".")) and set(text) & set(".,")]
    if found and all(map(POINT.fullmatch, found)):
        return SECONDS, found[0]
    return HUNDREDTHS, ""


def pounds_in(texts: Iterable[str]) -> bool:
    """Whether pounds are spoken of anywhere: then plain loads may be in either unit."""
    return any(_POUNDS.search(text) for text in texts)


def _seems(said: list[str], benches: Benches, today: date) -> str:
    if all(benches.find(cell) for cell in said):
        return Use.BENCHMARK
    # Plain numbers may be anything: shoe sizes, ages, days as a spreadsheet counts them.
    if all(is_number(cell.replace(",", ".")) for cell in said):
        return Use.NOTHING
    if days := _days(said, today):
        return Use.BORN if max(days).year <= today.year - YOUNGEST else Use.DAY
    return Use.RESULT if all(map(_is_result, said)) else Use.NOTHING


def _days(said: list[str], today: date) -> list[date]:
    """The days in a column that holds nothing else; in which order they are written does not matter here."""
    for order in (Order.DAY, Order.MONTH):
        try:
            return [read_day(cell, order, today) for cell in said]
        except NotUnderstood:
            continue
    return []


def _is_result(cell: str) -> bool:
    try:
        return bool(parsing.read(cell))
    except NotUnderstood:
        return False


def cell(cells: Sequence[str], column: Column | None) -> str:
    return cells[column.index] if column is not None and column.index < len(cells) else ""


def is_number(text: str) -> bool:
    return text.isascii() and text.replace(".", "", 1).isdecimal()
