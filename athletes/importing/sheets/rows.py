"""One row of a file, understood: who it is about, and which results it gives, or why it cannot be used."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from athletes.efforts import parsing
from athletes.efforts.parsing import NotUnderstood
from athletes.importing.sheets.benches import Bench
from athletes.importing.sheets.columns import NOT_SAID, Column, Plan, cell, is_number
from athletes.importing.sheets.dates import read_day
from athletes.importing.sheets.headings import Use
from athletes.importing.sheets.names import turned
from athletes.words import POUND_KG

FIRST_DAY = date(1970, 1, 1)  # before that a year is a slip
MOST_REPETITIONS = 500
TIMED = ("time_for_distance", "time_for_calories", "hold")
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


@dataclass
class Understood:
    """What one row says."""

    row: int
    person: Person | None
    problems: list[Problem]
    entries: list[ReadCell] = field(default_factory=list)
    empty: int = 0  # results that were left out because nobody was tested, or that were voided


def understand(row: int, cells: Sequence[str], plan: Plan) -> Understood:
    """What a row says under `plan`. A cell that cannot be used does not keep the others of its row from it."""
    # What the cells of the row say, by what they are for.
    values = {column.use: cell(cells, column) for column in plan.columns if column.use and ":" not in column.use}
    says = Understood(row, *person_of(row, values, plan))
    if values.get(Use.VOIDED, "").lower() not in ("", "no", "false", "0"):
        says.empty += 1
        return says
    if plan.having(Use.BENCHMARK) or plan.having(Use.RESULT):
        _long(values, plan, says)
    for column in plan.columns:
        if column.use.startswith(Use.RESULT_OF):
            _wide(column, cells, values, plan, says)
    if says.person is None and (says.entries or says.problems):
        title = plan.title(Use.NAME, Use.FIRST, Use.LAST, Use.BOARD)
        says.entries, says.problems = [], [Problem(row, title, NOBODY)]
    return says


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
            facts[fact] = understand(text, plan)
        except NotUnderstood as error:
            problems.append(Problem(row, plan.title(use), str(error)))
    return Person((name or board)[:LONGEST_NAME], board[:LONGEST_BOARD], facts), problems


def _sex(text: str, plan: Plan) -> str:
    if sex := SEXES.get(text.lower()):
        return sex
    raise NotUnderstood(f"“{text}” is not understood. Write f or m, or leave it empty.")


def _mass(text: str, plan: Plan) -> float:
    """A body mass in kilograms; the unit from the cell, the heading, or what the coach said of loads."""
    digits = text.lower().replace(",", ".").rstrip(" abcdefghijklmnopqrstuvwxyz")
    said = text.lower()[len(digits) :].strip().rstrip("s") or plan.having(Use.MASS).unit or plan.load_unit
    if is_number(digits) and said in ("kg", "lb"):
        mass = float(digits) * (POUND_KG if said == "lb" else 1.0)
        if LEAST_KG <= mass <= MOST_KG:
            return round(mass, 2)
    raise NotUnderstood(f"“{text}” is no body mass between {LEAST_KG:g} and {MOST_KG:g} kg.")


def _born(text: str, plan: Plan) -> date:
    day = read_day(text, plan.order, plan.today)
    if FIRST_BIRTH <= day < plan.today:
        return day
    raise NotUnderstood(f"Nobody here was born on “{text}”. Check the year.")


FACTS = {
    Use.BORN: ("born", _born),
    Use.SEX: ("sex", _sex),
    Use.MASS: ("body_mass_kg", _mass),
    Use.JOINED: ("joined_on", lambda text, plan: read_day(text, plan.order, plan.today)),
}


def typed_as(text: str, column: Column | None, bench: Bench, load_unit: str, repetitions: str = "") -> str:
    """A result as someone would type it: what heading or another column says is put to a plain number."""
    plain = text.replace(",", ".")
    if not is_number(plain):
        return text
    unit, headed = (column.unit, column.repetitions) if column else ("", None)
    if bench.measure == "lift":
        return f"{plain} {unit if unit in ('kg', 'lb') else load_unit} x {repetitions or headed or 1}"
    if bench.measure in TIMED and unit in ("s", "min"):
        return f"{float(plain) * (60 if unit == 'min' else 1):g} s"
    return text


def _long(values: dict[str, str], plan: Plan, says: Understood) -> None:
    """A row for a result: athlete, benchmark, result, day."""
    column, name = plan.having(Use.RESULT), values.get(Use.BENCHMARK, "")
    text = values.get(Use.RESULT) or values.get(Use.REPETITIONS, "")
    if text.lower() in NOT_SAID:
        says.empty += bool(name or text)
        return
    bench = plan.benches.find(name) if name else None
    if bench is None:
        reason = f"No benchmark is called “{name}”." if name else "This result names no benchmark."
        says.problems.append(Problem(says.row, plan.title(Use.BENCHMARK), reason, bench=name))
        return
    typed = typed_as(text, column, bench, plan.load_unit, values.get(Use.REPETITIONS, ""))
    _entry(typed, bench, values.get(Use.DAY, ""), plan.title(Use.DAY), plan.title(Use.RESULT), plan, says)


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
    _entry(typed_as(text, column, bench, plan.load_unit), bench, day, title, column.title, plan, says)


def _entry(typed: str, bench: Bench, day: str, day_title: str, title: str, plan: Plan, says: Understood) -> None:
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
        result = parsing.result(parsing.read(typed), bench.measure, bench.fixed)
        if result.value <= 0 and bench.measure not in COUNTED:
            raise NotUnderstood("A result is above zero. Leave it empty for someone who was not tested.")
        if (result.repetitions or 0) > MOST_REPETITIONS:
            raise NotUnderstood(f"No lift has more than {MOST_REPETITIONS} repetitions. Check the number.")
    except NotUnderstood as error:
        says.problems.append(Problem(says.row, at, str(error)))
    else:
        says.entries.append(ReadCell(says.row, title, bench.pk, typed, performed_on, result.value, result.repetitions))
