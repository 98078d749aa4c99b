"""People as someone types or pastes them, one a line, in any order and with any separator; names alone are enough:

    Nora Holtvarg; f; 1995; 64; 2.2.24; ski1000 3:25, 16 pull ups
    Ben Askelby, m, 1982, 91 kg, 0 pull-ups
    Nils Ottervang

A first line of headings decides what its columns hold. What is not understood becomes a problem of its line.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date

from athletes.efforts import parsing
from athletes.efforts.parsing import NotUnderstood, Reading, Result
from athletes.importing.sheets.benches import Bench, Benches
from athletes.importing.sheets.columns import NOT_SAID
from athletes.importing.sheets.dates import MONTHS, Order, date_format, read_day
from athletes.importing.sheets.headings import USE_OF, Use
from athletes.importing.sheets.names import turned, words, words_key
from athletes.importing.sheets.rows import (
    COUNTED,
    FIRST_BIRTH,
    LEAST_KG,
    LONGEST_BOARD,
    LONGEST_NAME,
    MOST_KG,
    SEXES,
    Person,
    Problem,
    ReadCell,
    Understood,
)
from athletes.words import POUND_KG

MOST_LINES = 500
MOST_LETTERS, MOST_IN_COLUMNS = 300, 2_000  # of a line, and of one below headings
MOST_WORDS = 60  # between two separators
MOST_TOKENS = 12  # of a name and a result: the longest that make sense are shorter
MOST_OF_RESULT = 6  # words: 12 reps in 40 sec is shorter
MOST_TO_EXPLAIN = 24  # words of a text that may hold a result; of more there is nothing to say
MOST_OF_FACT = 8  # words: member since 3 March 2024 is shorter
YOUNGEST, OLDEST = 10, 100  # years of someone who trains (ours)
LIGHTEST_PLAIN = 40  # a plain number from here on is a body mass, below it an age (ours)
TOO_LONG = "This is too long to read. Split it: one person a line, semicolons between things. It is kept as a note."
TOO_LONG_ALONE = "This is too long to read. Split it: one person a line, the name first, semicolons between things."
NOBODY = "There is no name in this line. Begin it with one."
WHAT = "Not understood. It is kept as a note; write it like 16 pull-ups, row 2k 8:11.4 or 64 kg to have it read."
# How the trade shortens what it tests.
SAID = {
    "squat": "backsquat", "press": "overheadpress", "bench": "benchpress", "clean": "powerclean", "bike": "fanbike",
    "rower": "row", "rowing": "row", "skiing": "ski", "running": "run", "hang": "deadhang",
    "burpies": "burpee", "du": "doubleunder", "t2b": "toestobar", "ttb": "toestobar",
}  # fmt: skip
# Headings that a list of people has and a file of results has not.
OF_PEOPLE = {
    "kg": Use.MASS, "lb": Use.MASS, "since": Use.JOINED, "year": Use.BORN, "year of birth": Use.BORN, "age": Use.BORN,
    "jahrgang": Use.BORN, "alter": Use.BORN, "seit": Use.JOINED,
}  # fmt: skip
_STRONG = re.compile(r"\s*[;\t|]\s*")
_COMMA = re.compile(r",(?!\d)|(?<!\d),")
_MASS = re.compile(r"(\d{2,3}(?:[.,]\d+)?)\s*(kgs?|kilos?|lbs?|pounds?)", re.IGNORECASE)
_AGE = re.compile(r"(?:aged?\s*)(\d{1,2})|(\d{1,2})\s*(?:y|yrs?|years?|yo|jahre)\.?(?:\s*old)?", re.IGNORECASE)
_YEAR = re.compile(r"(19|20)\d\d")
_MONTH_YEAR = re.compile(r"(\d{1,2})\s*[./-]\s*(\d{4}|\d{2})|([a-z]+)\.?\s+(\d{4}|\d{2})", re.IGNORECASE)
_SAYS_BORN = re.compile(r"(?:born|b\.|\*|geb\.?)\s*", re.IGNORECASE)
_SAYS_JOINED = re.compile(r"(?:since|joined|member since|seit)\s*:?\s*", re.IGNORECASE)
_NAME = re.compile(r"[^\W\d_][^\d_;|]*")


@dataclass(frozen=True)
class Test:
    """A benchmark, and all names of its movement."""

    bench: Bench
    movement: tuple[str, ...]


class Tests:
    """The gym's benchmarks, to be found by a result with a few words before or after it."""

    def __init__(self, tests: Iterable[Test]) -> None:
        self._tests = list(tests)
        self._benches = Benches(test.bench for test in self._tests)
        self._by_movement: dict[str, list[Bench]] = {}
        self._meant: dict[str, list[Bench]] = {}  # by the words that were looked up
        self._readings: dict[str, Reading | None] = {}
        for test in self._tests:
            for key in {_key(name) for name in test.movement}:
                self._by_movement.setdefault(key, []).append(test.bench)

    def find(self, text: str) -> tuple[Bench, str, Result]:
        """The benchmark, the result as it is typed, and what it says. Raises NotUnderstood, in words."""
        tokens = text.replace("=", " ").split()
        if len(tokens) > MOST_TO_EXPLAIN or not _has_digit(text):
            raise NotUnderstood(WHAT)
        found: dict[int, tuple[Bench, str, Result]] = {}
        why = ""
        for name, typed in _splits(tokens):
            reading = self._reading(typed)
            for bench in self._named(name) if reading else []:
                try:
                    found.setdefault(bench.pk, (bench, typed, _result(reading, bench)))
                except NotUnderstood as error:
                    why = why or str(error)
        if len(found) == 1:
            return next(iter(found.values()))
        if found:
            raise NotUnderstood(f"Which of these: {', '.join(bench.name for bench, _, _ in found.values())}?")
        raise NotUnderstood(why or WHAT)

    def _reading(self, typed: str) -> Reading | None:
        """What a text says as a result, None where it is none; each text is read once."""
        if not _has_digit(typed):
            return None
        if typed not in self._readings:
            try:
                self._readings[typed] = parsing.read(typed)
            except NotUnderstood:
                self._readings[typed] = None
        return self._readings[typed]

    def _named(self, name: str) -> list[Bench]:
        """What a name can mean; each is looked up once."""
        if name not in self._meant:
            self._meant[name] = self._look_up(name)
        return self._meant[name]

    def _look_up(self, name: str) -> list[Bench]:
        """The benchmark that it says, else all of a movement."""
        if bench := self._benches.find(name):
            return [bench]
        key = _key(name)
        return self._by_movement.get(key) or self._by_movement.get(SAID.get(key, ""), [])


@dataclass
class _Line:
    """One line while it is read."""

    number: int
    names: list[str] = field(default_factory=list)
    board: str = ""
    facts: dict = field(default_factory=dict)
    numbers: list[float] = field(default_factory=list)  # plain ones: an age, a body mass
    problems: list[Problem] = field(default_factory=list)
    entries: list[ReadCell] = field(default_factory=list)


def read_people(text: str, tests: Tests, *, today: date, day: date) -> list[Understood]:
    """Each line with something in it; results count as of `day`. Rows are numbered as the lines are, from 1.

    A year alone is taken as its last day for a birth, so that nobody counts as grown up too early, and as its first
    for joining.
    """
    lines = [(number, line.strip()) for number, line in enumerate(text.splitlines(), start=1) if line.strip()]
    first = lines[0][1] if lines else ""
    uses = _headings(first) if len(first) <= MOST_IN_COLUMNS else []
    most = MOST_IN_COLUMNS if uses else MOST_LETTERS
    rows = [(number, *_cut(line, most)) for number, line in lines[:MOST_LINES]]
    order = date_format(piece for _, line, _ in rows for piece in _pieces(line)).order or Order.DAY
    reader = _Reader(tests, today, day, order)
    found = []
    for number, line, rest in rows[1:] if uses else rows:
        if not line:
            found.append(Understood(number, None, [Problem(number, "", TOO_LONG_ALONE)]))
            continue
        says = reader.under(uses, _pieces(first), number, line) if uses else reader.free(number, line)
        says.problems.extend([Problem(number, rest, TOO_LONG)] if rest else [])
        found.append(says)
    return found


@dataclass(frozen=True)
class _Reader:
    tests: Tests
    today: date
    day: date
    order: Order

    def free(self, number: int, text: str) -> Understood:
        """A line without headings."""
        line = _Line(number)
        pieces = _pieces(text)
        halves = _pieces(_STRONG.split(text.strip())[0])[:2]
        if len(halves) == 2 and all(map(_one_word, halves)):
            pieces = [f"{halves[1]} {halves[0]}", *pieces[2:]]  # Holtvarg, Nora
        for piece in pieces:
            self._take(line, piece)
        return _understood(line)

    def under(self, uses: Sequence[str], headings: Sequence[str], number: int, text: str) -> Understood:
        """A line below headings."""
        line = _Line(number, names=[""])  # a heading says which cell it is
        cells = [cell.strip() for cell in (_STRONG.split(text) if _STRONG.search(text) else _COMMA.split(text))]
        halves: dict[str, str] = {}
        for place, cell in enumerate(cells):
            use = uses[place] if place < len(uses) else Use.NOTHING
            if cell.lower() in NOT_SAID:
                continue
            if use in (Use.NAME, Use.FIRST, Use.LAST):
                halves[use] = cell
            elif use == Use.BOARD:
                line.board = cell
            elif use in (Use.BORN, Use.JOINED, Use.MASS, Use.SEX):
                self._told(line, use, cell)
            else:
                self._loose(line, headings[place] if place < len(headings) and use else "", cell)
        line.names = [halves[use] for use in (Use.NAME, Use.FIRST, Use.LAST) if use in halves]
        return _understood(line)

    def _loose(self, line: _Line, heading: str, cell: str) -> None:
        """A cell under the name of a benchmark, or under a heading that leaves open what stands there."""
        if not heading:
            for piece in _pieces(cell):
                self._take(line, piece)
        elif not self._test(line, f"{heading} {cell}"):
            line.problems.append(Problem(line.number, f"{heading} {cell}", self._why(f"{heading} {cell}")))

    def _told(self, line: _Line, use: str, cell: str) -> None:
        """A cell under a heading that says what it is."""
        read = {Use.SEX: self._sex, Use.MASS: self._mass, Use.BORN: self._born, Use.JOINED: self._joined}[use]
        if not read(line, cell):
            line.problems.append(Problem(line.number, cell, WHAT))

    def _take(self, line: _Line, piece: str) -> None:
        """A piece between separators: one thing, or several with spaces between them."""
        if piece.lower() in NOT_SAID or self._fact(line, piece):
            return
        fresh = not line.names
        if fresh and _NAME.fullmatch(piece):
            *name, last = piece.split()
            if name and last in ("f", "m", "w") and self._sex(line, last):  # in capitals it is an initial
                piece = " ".join(name)
            line.names = [piece]
            return
        tokens, unread = piece.split(), []
        if len(tokens) > MOST_WORDS:
            line.problems.append(Problem(line.number, piece, TOO_LONG))
            return
        while fresh and self._goes_on(line, tokens):
            line.names.append(tokens.pop(0))
        while tokens:
            ahead = range(min(len(tokens), MOST_TOKENS), 0, -1)
            many = next((n for n in ahead if self._one(line, tokens[:n], plain=fresh)), 0)
            if not many:
                unread.append(tokens[0])
            tokens = tokens[many or 1 :]
        if unread:
            text = " ".join(unread)
            line.problems.append(Problem(line.number, text, self._why(text)))

    def _why(self, text: str) -> str:
        """Why a text is no result, in words."""
        try:
            self.tests.find(text)
        except NotUnderstood as error:
            return str(error)
        return WHAT

    def _goes_on(self, line: _Line, tokens: list[str]) -> bool:
        """Whether the next word belongs to the name, where no separator ends it: until something else begins."""
        if not tokens or not _NAME.fullmatch(tokens[0]) or tokens[0].lower() in SEXES:
            return False
        ahead = range(2, min(len(tokens), MOST_TOKENS) + 1)
        return not line.names or not any(self._is_test(tokens[:n]) for n in ahead)

    def _is_test(self, tokens: list[str]) -> bool:
        try:
            return bool(self.tests.find(" ".join(tokens)))
        except NotUnderstood:
            return False

    def _one(self, line: _Line, tokens: list[str], *, plain: bool) -> bool:
        text = " ".join(tokens)
        return self._fact(line, text, plain=plain) or self._test(line, text)

    def _fact(self, line: _Line, text: str, *, plain: bool = True) -> bool:
        if not _has_digit(text):
            return self._sex(line, text)
        if text.count(" ") >= MOST_OF_FACT:
            return False
        if said := _SAYS_BORN.match(text):
            return self._born(line, text[said.end() :])
        if said := _SAYS_JOINED.match(text):
            return self._joined(line, text[said.end() :])
        if self._sex(line, text) or self._mass(line, text, plain=False):
            return True
        if found := _AGE.fullmatch(text):
            return self._aged(line, int(found[1] or found[2]))
        if day := self._read_day(text):
            if "born" not in line.facts and self._old_enough(day):
                return self._born(line, text)
            return self._joined(line, text)
        if plain and re.fullmatch(r"\d{2,3}(?:[.,]\d)?", text) and YOUNGEST <= _float(text) <= MOST_KG:
            return self._plain(line, _float(text))
        return False

    def _plain(self, line: _Line, number: float) -> bool:
        """A number without a unit: of two the first is the age; one alone is a body mass where it can be."""
        if len(line.numbers) == 2 or {"born", "body_mass_kg"} <= set(line.facts):
            return False
        line.numbers.append(number)
        if len(line.numbers) == 2 and "born" not in line.facts:
            first, second = line.numbers
            line.facts.pop("body_mass_kg", None)
            line.facts["body_mass_kg"] = second
            return self._aged(line, int(first))
        if "body_mass_kg" not in line.facts and (number >= LIGHTEST_PLAIN or "born" in line.facts):
            line.facts["body_mass_kg"] = number
            return True
        return self._aged(line, int(number))

    def _aged(self, line: _Line, age: int) -> bool:
        if "born" in line.facts or not YOUNGEST <= age <= OLDEST:
            return False
        line.facts["born"] = date(self.today.year - age, self.today.month, 1)
        return True

    def _sex(self, line: _Line, text: str) -> bool:
        if "sex" in line.facts or text.lower() not in SEXES:
            return False
        line.facts["sex"] = SEXES[text.lower()]
        return True

    def _mass(self, line: _Line, text: str, plain: bool = True) -> bool:
        found = _MASS.fullmatch(text) or (re.fullmatch(r"(\d{2,3}(?:[.,]\d+)?)()", text) if plain else None)
        if found is None or "body_mass_kg" in line.facts:
            return False
        mass = _float(found[1]) * (POUND_KG if found[2].lower().startswith(("lb", "pound")) else 1.0)
        if not LEAST_KG <= mass <= MOST_KG:
            return False
        line.facts["body_mass_kg"] = round(mass, 2)
        return True

    def _born(self, line: _Line, text: str) -> bool:
        if text.isascii() and text.isdecimal() and len(text) == 2:
            return self._aged(line, int(text))
        day = self._read_day(text, last=True)
        if "born" in line.facts or day is None or not (FIRST_BIRTH <= day < self.today):
            return False
        line.facts["born"] = day
        return True

    def _joined(self, line: _Line, text: str) -> bool:
        day = self._read_day(text)
        if "joined_on" in line.facts or day is None or day > self.today:
            return False
        line.facts["joined_on"] = day
        return True

    def _old_enough(self, day: date) -> bool:
        return self.today.year - OLDEST <= day.year <= self.today.year - YOUNGEST

    def _read_day(self, text: str, *, last: bool = False) -> date | None:
        """A day; of a year or a month alone the first, or the `last`."""
        if _YEAR.fullmatch(text):
            return date(int(text), 12, 31) if last else date(int(text), 1, 1)
        if found := _MONTH_YEAR.fullmatch(text):
            month = int(found[1]) if found[1] else MONTHS.get(found[3].lower(), 0)
            year = int(found[2] or found[4])
            year += 0 if year > 99 else 2000 if year + 2000 <= self.today.year else 1900
            return date(year, month, 1) if 1 <= month <= 12 else None
        try:
            return None if text.isdecimal() else read_day(text, self.order, self.today)
        except NotUnderstood:
            return None

    def _test(self, line: _Line, text: str) -> bool:
        try:
            bench, typed, result = self.tests.find(text)
        except NotUnderstood:
            return False
        line.entries.append(
            ReadCell(line.number, bench.name, bench.pk, typed, self.day, result.value, result.repetitions)
        )
        return True


def _cut(line: str, most: int) -> tuple[str, str]:
    """What of a line is read, and the rest of one that is too long: cut where a separator stands, so that no result
    is torn; nothing is read of one without any."""
    if len(line) <= most:
        return line, ""
    at = max(line.rfind(separator, 0, most) for separator in ";\t|,")
    return (line[:at], line[at + 1 :].strip()) if at > 0 else ("", line)


def _understood(line: _Line) -> Understood:
    name = turned(" ".join(line.names)) or " ".join(line.board.split())
    if not name:
        return Understood(line.number, None, [Problem(line.number, "", NOBODY)])
    person = Person(name[:LONGEST_NAME], line.board[:LONGEST_BOARD], line.facts)
    return Understood(line.number, person, line.problems, line.entries)


def _headings(text: str) -> list[str]:
    """What the columns hold, where the first line is one of headings; else nothing."""
    titles = _pieces(text)
    uses = [str(USE_OF.get(words_key(title)) or OF_PEOPLE.get(words_key(title), "")) for title in titles]
    if not {Use.NAME, Use.FIRST, Use.LAST} & set(uses) or any(re.search(r"\d[:x]\d", title) for title in titles):
        return []
    free = (Use.RESULT, Use.BENCHMARK, Use.REPETITIONS, Use.DAY, Use.VOIDED)
    loose = {"results", "result", "known", "benchmarks", "best", "bests", "notes", "note"}
    return [
        Use.NOTHING if use in free or words_key(title) in loose else use or Use.RESULT_OF
        for use, title in zip(uses, titles, strict=True)
    ]


def _pieces(line: str) -> list[str]:
    """What stands between separators: ; tab | and commas that divide no figure."""
    parts = _STRONG.split(line.strip()) if _STRONG.search(line.strip()) else [line.strip()]
    plain = len(parts) == 1
    commas = re.compile(",") if plain and re.search(r",\d{2,4}(,|$)", line) else _COMMA
    return [piece.strip() for part in parts for piece in commas.split(part)]


def _splits(tokens: list[str]) -> Iterable[tuple[str, str]]:
    """Each way in which words and a result can share a text, the longest name first."""
    many = len(tokens)
    for cut in range(many - 1, max(many - MOST_OF_RESULT, 1) - 1, -1):
        yield " ".join(tokens[:cut]).rstrip(":"), " ".join(tokens[cut:])
    for cut in range(1, min(many - 1, MOST_OF_RESULT) + 1):
        yield " ".join(tokens[cut:]), " ".join(tokens[:cut])


def _result(reading: Reading, bench: Bench) -> Result:
    result = parsing.result(reading, bench.measure, bench.fixed)
    if result.value <= 0 and bench.measure not in COUNTED:
        raise NotUnderstood("A result is above zero. Leave it out for someone who was not tested.")
    return result


def _has_digit(text: str) -> bool:
    return any(map(str.isdigit, text))


def _key(name: str) -> str:
    """What two spellings of a movement share: Pull-ups, pull up and pullup."""
    return "".join(word[:-1] if len(word) > 2 and word.endswith("s") and not word.endswith("ss") else word
                   for word in words(name))  # fmt: skip


def _one_word(piece: str) -> bool:
    return bool(_NAME.fullmatch(piece)) and " " not in piece and piece.lower() not in SEXES


def _float(text: str) -> float:
    return float(text.replace(",", "."))
