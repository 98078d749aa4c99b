"""One row of a file, understood: who it is about, and which results it gives, or why it cannot be used."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from athletes.efforts import parsing
from athletes.efforts.parsing import NotUnderstood
from athletes.importing.sheets.benches import Bench
from athletes.importing.sheets.columns import (
    COLONS,
    LOADS,
    MINUTES,
    NOT_SAID,
    POINT,
    SECONDS,
    UNITS,
    Column,
    Plan,
    cell,
    is_number,
)
from athletes.importing.sheets.dates import read_day
from athletes.importing.sheets.headings import Use
from athletes.importing.sheets.names import turned, words
from athletes.words import POUND_KG

FIRST_DAY = date(1970, 1, 1)  # before that a year is a slip
MOST_REPETITIONS = 500
TIMED = ("time_for_distance", "time_for_calories", "time_for_repetitions", "hold")
LOADED = re.compile(r"(\d+(?:\.\d+)?)\s*([a-z]+?)?(?:\s*[x×*]\s*(\d+))?")
TIMES = re.compile(r"[x×*]", re.IGNORECASE)
TIMES_OWN = re.compile(r"^(\d+)\s*[x×*].*[a-z]$|[x×*]\s*(\d+)$")  # 5 of 5x70kg and of 70 kg x 5
SUMS_UP = "This row sums up others, so it is left out."
CHOOSE_LOAD = "Read the file in another way, and choose the column of the loads as “load of a lift”."
CHOOSE_RESULT = "Read the file in another way, and choose the column of the results as “result”."
IN_MINUTES = "“{}” cannot be seconds. Is it minutes and seconds?"
NO_UNIT = "Kilograms or pounds? Say so in the file, or above for all."
# Rows below the people: what they are called, with words that may stand beside it. “Max” alone is somebody.
SUMMARIES = frozenset(
    ("average", "averages", "avg", "mean", "median", "total", "totals", "subtotal", "sum", "count", "maximum",
     "minimum", "highest", "lowest", "stdev", "durchschnitt", "mittelwert", "mittel", "summe", "gesamt", "moyenne",
     "somme", "promedio", "media", "suma", "soma")
)  # fmt: skip
BESIDE_SUMMARIES = frozenset(
    ("team", "class", "group", "gym", "squad", "of", "all", "the", "men", "women", "male", "female", "grand", "overall",
     "max", "min", "athletes", "members", "everyone", "time", "score", "result", "der", "aller", "de", "générale")
)  # fmt: skip
NOT_PEOPLE = SUMMARIES | BESIDE_SUMMARIES | frozenset(
    ("rank", "place", "position", "target", "goal", "record", "level", "norm", "standard", "best", "worst", "range",
     "name", "unit", "units", "date", "note", "notes", "week", "test")
)  # fmt: skip
SEVERAL = re.compile(r"[/&+]|\sand\s", re.IGNORECASE)  # people in one cell
NOBODY = "There is no name in this row, so nobody to keep it for."
SEXES = {"f": "female", "female": "female", "w": "female", "woman": "female", "women": "female", "♀": "female"}
SEXES |= {"m": "male", "male": "male", "man": "male", "men": "male", "♂": "male"}
# “h” stays out: where it is a man, “m” may be a woman.
SEXES |= dict.fromkeys(["weiblich", "frau", "femme", "féminin", "mujer", "femenino", "mulher", "feminino"], "female")
SEXES |= dict.fromkeys(["männlich", "mann", "homme", "masculin", "hombre", "masculino", "homem"], "male")
LEAST_KG, MOST_KG = 25.0, 300.0
LONGEST_NAME, LONGEST_BOARD = 80, 24
FIRST_BIRTH = date(1900, 1, 1)


@dataclass(frozen=True)
class Problem:
    """Why a cell cannot be used, in words; `bench` is a name that no benchmark has."""

    row: int
    column: str
    reason: str
    bench: str = ""


@dataclass(frozen=True)
class Person:
    """Whom a row is about; `facts` by the names of the model's fields."""

    name: str
    board: str
    facts: dict = field(default_factory=dict)


COUNTED = ("repetitions", "repetitions_in_time")  # where none at all is a result: the athlete cannot do one yet


@dataclass(frozen=True)
class ReadCell:
    """A result that is understood."""

    row: int
    column: str
    bench: int
    typed: str
    day: date
    value: float
    repetitions: int | None
    once: bool = False  # a lift of which no repetitions are said
    in_minutes: "ReadCell | None" = None  # of 1.57 where nothing says that it is seconds: the same as minutes
    question: str = ""  # what to ask about how it is read

    @property
    def unit(self) -> str:
        """The unit in which a load stands in the file."""
        return "lb" if "lb" in self.typed.lower() else "kg"


@dataclass
class Understood:
    """What one row says."""

    row: int
    person: Person | None
    problems: list[Problem]
    entries: list[ReadCell] = field(default_factory=list)
    empty: int = 0  # results that were left out because nobody was tested, or that were voided
    sums_up: bool = False  # an average or a total, and nobody's result


def understand(row: int, cells: Sequence[str], plan: Plan) -> Understood:
    """What a row says under `plan`. A cell that cannot be used does not keep the others of its row from it."""
    # What the cells of the row say, by what they are for.
    values = {column.use: cell(cells, column) for column in plan.columns if column.use and ":" not in column.use}
    if all(text.lower() == column.heading.lower() for column in plan.columns if (text := cell(cells, column))):
        return Understood(row, None, [])  # the headings once more, as on each page of a long list
    if sums_up(values, cells):
        return Understood(row, None, [], sums_up=True)
    says = Understood(row, *person_of(row, values, plan))
    if values.get(Use.VOIDED, "").lower() not in ("", "no", "false", "0"):
        says.empty += 1
        return says
    if any(plan.having(use) for use in (Use.BENCHMARK, Use.RESULT, Use.LOAD)):
        _long(values, plan, says)
    for column in plan.columns:
        if column.use.startswith(Use.RESULT_OF):
            _wide(column, cells, values, plan, says)
    if says.person is None and (says.entries or says.problems):
        title = plan.title(Use.NAME, Use.FIRST, Use.LAST, Use.BOARD)
        says.entries, says.problems = [], [Problem(row, title, NOBODY)]
    return says


def sums_up(values: dict[str, str], cells: Sequence[str]) -> bool:
    """Whether a row is an average, a total or the like: by its name, or by its first cell where it has no name."""
    named = [values[use] for use in (Use.NAME, Use.FIRST, Use.LAST, Use.BOARD) if values.get(use)]
    said = words(" ".join(named) or next(filter(None, cells), ""))
    plain = [word for word in said if not word[0].isdigit()]
    return bool(SUMMARIES.intersection(plain)) and SUMMARIES.union(BESIDE_SUMMARIES).issuperset(plain)


def is_no_name(name: str) -> bool:
    """Whether a name looks like something else that stands in a first column: “Max”, “Rank 1”, “Ada / Ben”."""
    return bool(SEVERAL.search(name)) or NOT_PEOPLE.issuperset(word for word in words(name) if not word[0].isdigit())


def person_of(row: int, values: dict[str, str], plan: Plan) -> tuple[Person | None, list[Problem]]:
    """The person of a row, None where it names nobody, and what of the facts is not understood."""
    name = values.get(Use.NAME) or " ".join(filter(None, (values.get(Use.FIRST), values.get(Use.LAST))))
    name, board = turned(name), " ".join(values.get(Use.BOARD, "").split())
    if not name and not board:
        return None, []
    facts, problems = {}, []
    for use, (fact, understand) in FACTS.items():
        text = values.get(use, "")
        if text.lower() in NOT_SAID:
            continue
        try:
            facts[fact] = understand(text, plan, values)
        except NotUnderstood as error:
            problems.append(Problem(row, plan.title(use), str(error)))
    return Person((name or board)[:LONGEST_NAME], board[:LONGEST_BOARD], facts), problems


def _sex(text: str, plan: Plan, values: dict[str, str]) -> str:
    if sex := SEXES.get(text.lower()):
        return sex
    raise NotUnderstood(f"“{text}” is not understood. Write f or m, or leave it empty.")


def _mass(text: str, plan: Plan, values: dict[str, str]) -> float:
    """A body mass in kilograms; the unit from the cell, the heading, the row, or what the coach said for all."""
    digits = text.lower().replace(",", ".").rstrip(" abcdefghijklmnopqrstuvwxyz")
    own = UNITS.get(text.lower()[len(digits) :].strip(), "?" if text.lower()[len(digits) :].strip() else "")
    in_row = "" if plan.having(Use.LOAD) else values.get(Use.UNIT, "")  # beside a load it is the unit of that
    said = own or plan.having(Use.MASS).unit or UNITS.get(in_row.lower(), "") or plan.load_unit
    if not said:
        raise NotUnderstood(NO_UNIT)
    if is_number(digits) and said in ("kg", "lb"):
        mass = float(digits) * (POUND_KG if said == "lb" else 1.0)
        if LEAST_KG <= mass <= MOST_KG:
            return round(mass, 2)
    raise NotUnderstood(f"“{text}” is no body mass between {LEAST_KG:g} and {MOST_KG:g} kg.")


def _born(text: str, plan: Plan, values: dict[str, str]) -> date:
    day = read_day(text, plan.order, plan.today)
    if FIRST_BIRTH <= day < plan.today:
        return day
    raise NotUnderstood(f"Nobody here was born on “{text}”. Check the year.")


FACTS = {
    Use.BORN: ("born", _born),
    Use.SEX: ("sex", _sex),
    Use.MASS: ("body_mass_kg", _mass),
    Use.JOINED: ("joined_on", lambda text, plan, values: read_day(text, plan.order, plan.today)),
}


def typed_as(text: str, column: Column | None, bench: Bench, plan: Plan, values: dict[str, str]) -> str:
    """A result as someone would type it: what heading, row and coach say is put to a plain number.

    Raises NotUnderstood for a load of which nobody says whether it is in kilograms or pounds.
    """
    plain = text.lower().replace(",", ".")
    unit, headed = (column.unit, column.repetitions) if column else ("", None)
    in_row = values.get(Use.UNIT, "").lower()
    beside, of_its_own = _repetitions(values), TIMES_OWN.search(plain)
    if bench.measure == "lift" and beside and of_its_own and beside not in of_its_own.groups():
        raise NotUnderstood(f"“{text}” has its own repetitions, and {beside} stand beside it. Mend it in the file.")
    if bench.measure == "lift" and (loaded := LOADED.fullmatch(plain)):
        number, own, times = loaded.groups()
        if own and own not in UNITS:
            return text
        said = UNITS.get(own or "") or (unit if unit in LOADS else "") or UNITS.get(in_row, in_row) or plan.load_unit
        if said not in LOADS:
            raise NotUnderstood(f"“{in_row}” is no unit of a load. Write kg or lb." if in_row else NO_UNIT)
        return f"{number} {said} x {times or beside or headed or 1}"
    if bench.measure in TIMED:
        unit = unit or UNITS.get(in_row, "")
        if unit == "min" and is_number(plain):
            return _of_minutes(plain, plan.point)
        if unit == "s" and is_number(plain):
            return f"{float(plain):g} s"
        if plan.clock == MINUTES and COLONS.fullmatch(plain):
            return _without_hours(text)
    return text


def _of_minutes(number: str, point: str) -> str:
    """A plain number of minutes, as someone would type it."""
    if point == SECONDS and POINT.fullmatch(number):
        minutes, _, seconds = number.partition(".")
        return f"{minutes}:{seconds:0<2}"
    return f"{float(number) * 60:g} s"


def _repetitions(values: dict[str, str]) -> str:
    """The repetitions that stand beside a load; empty where none do."""
    said = values.get(Use.REPETITIONS, "")
    return "" if said.lower() in NOT_SAID else said


def _without_hours(text: str) -> str:
    """1:41:00, which a spreadsheet made of 1:41, as it was meant."""
    minutes, seconds, rest = text.split(":")
    if rest.strip("0."):
        raise NotUnderstood(f"“{text}” is no minutes and seconds. Mend it in the file, like 1:41 or 1:41.3.")
    return f"{minutes}:{seconds}"


def _long(values: dict[str, str], plan: Plan, says: Understood) -> None:
    """A row for a result: athlete, benchmark, result or load, day."""
    name, title = values.get(Use.BENCHMARK, ""), plan.title(Use.RESULT, Use.LOAD, Use.REPETITIONS)
    if all(values.get(use, "").lower() in NOT_SAID for use in (Use.RESULT, Use.LOAD, Use.REPETITIONS)):
        says.empty += bool(name or any(values.get(use) for use in (Use.RESULT, Use.LOAD)))
        return
    bench = plan.benches.find(name) if name else plan.benches.by_id.get(plan.bench)
    if bench is None:
        reason = f"No benchmark is called “{name}”." if name else "This result names no benchmark."
        says.problems.append(Problem(says.row, plan.title(Use.BENCHMARK), reason, bench=name))
        return
    use, text = _result_of(values, bench)
    if not text:
        says.problems.append(Problem(says.row, title, _only_repetitions(plan, bench)))
        return
    if bench.measure != "lift" and values.get(Use.LOAD, "").strip("0., ").lower() not in NOT_SAID | UNITS.keys():
        reason = f"{bench.name} with a load is another test. Leave the load empty, or name another benchmark."
        says.problems.append(Problem(says.row, plan.title(Use.LOAD), reason))
        return
    _entry(text, plan.having(use), bench, values.get(Use.DAY, ""), plan.title(Use.DAY), title, plan, values, says)


def _result_of(values: dict[str, str], bench: Bench) -> tuple[str, str]:
    """The cell that holds the result of a benchmark, by what it is for, and its text; empty where there is none.
    Repetitions are no load and no time."""
    where = {"lift": (Use.LOAD, Use.RESULT), **dict.fromkeys(TIMED, (Use.RESULT,))}
    said = {use: values.get(use, "") for use in where.get(bench.measure, (Use.RESULT, Use.REPETITIONS))}
    return next(((use, text) for use, text in said.items() if text.lower() not in NOT_SAID), (Use.RESULT, ""))


def _only_repetitions(plan: Plan, bench: Bench) -> str:
    """What to do about a lift or a time of which only the repetitions are said."""
    missing = "load" if bench.measure == "lift" else "result"
    says = f"{bench.name} has repetitions here and no {missing}."
    if plan.having(Use.RESULT) or (missing == "load" and plan.having(Use.LOAD)):
        return f"{says} Add the {missing} in the file."
    unused = ", ".join(f"“{column.title}”" for column in plan.columns if not column.use)
    if not unused:
        return f"{says} No column holds it. Add one in the file."
    return f"{says} {CHOOSE_LOAD if missing == 'load' else CHOOSE_RESULT} One of these? {unused}."


def _wide(column: Column, cells: Sequence[str], values: dict[str, str], plan: Plan, says: Understood) -> None:
    """A row for an athlete: a column for each benchmark. The day: a column of its own, the heading, or the row's."""
    text = cell(cells, column)
    if text.lower() in NOT_SAID:
        says.empty += bool(text)
        return
    bench = plan.benches.by_id[column.bench]
    own_day = plan.having(f"{Use.DAY_OF}{bench.pk}")
    day, title = cell(cells, own_day), own_day.title if own_day else plan.title(Use.DAY)
    day = day or column.day or values.get(Use.DAY, "")
    beside = [c for c in plan.columns if c.use == f"{Use.REPETITIONS_OF}{bench.pk}"]
    counted = min(beside, key=lambda c: (c.index < column.index, c.index), default=None)
    values = {**values, Use.REPETITIONS: cell(cells, counted)}  # “Reps” alone is of no column among several
    _entry(text, column, bench, day, title, column.title, plan, values, says)


def _entry(
    text: str,
    column: Column | None,
    bench: Bench,
    day: str,
    day_title: str,
    title: str,
    plan: Plan,
    values: dict[str, str],
    says: Understood,
) -> None:
    at = day_title or title
    try:
        performed_on = read_day(day, plan.order, plan.today) if day else plan.day
        if performed_on is None:
            raise NotUnderstood("There is no date for this result. Add one, or give one day for all.")
        if performed_on > plan.today:
            raise NotUnderstood(f"“{day}” has not come yet. Give the day of the test.")
        if performed_on < FIRST_DAY:
            raise NotUnderstood(f"“{day}” is too long ago. Check the year.")
        at = title
        typed = typed_as(text, column, bench, plan, values)
        result = parsing.result(parsing.read(typed), bench.measure, bench.fixed)
        if result.value <= 0 and bench.measure not in COUNTED:
            raise NotUnderstood("A result is above zero. Leave it empty for someone who was not tested.")
        if (result.repetitions or 0) > MOST_REPETITIONS:
            raise NotUnderstood(f"No lift has more than {MOST_REPETITIONS} repetitions. Check the number.")
    except NotUnderstood as error:
        says.problems.append(Problem(says.row, at, str(error)))
    else:
        headed = column.repetitions if column else None
        once = bench.measure == "lift" and not (TIMES.search(text) or _repetitions(values) or headed)
        entry = ReadCell(says.row, title, bench.pk, typed, performed_on, result.value, result.repetitions, once)
        if bench.measure in TIMED and typed == text and POINT.fullmatch(text.replace(",", ".")):
            entry = replace(entry, in_minutes=_in_minutes(entry, bench, plan))
        says.entries.append(entry)


def _in_minutes(entry: ReadCell, bench: Bench, plan: Plan) -> ReadCell:
    """A plain number of seconds as if it were minutes; asked about unless the coach has said what such numbers are."""
    typed = _of_minutes(entry.typed.replace(",", "."), plan.plain_point or SECONDS)
    value = parsing.result(parsing.read(typed), bench.measure, bench.fixed).value
    question = "" if plan.plain_point else IN_MINUTES.format(entry.typed)
    return replace(entry, typed=typed, value=value, question=question)
