"""Whom a row is about: a name, a name on the board, and facts that go with a person."""

from dataclasses import dataclass, field
from datetime import date

from athletes.efforts.parsing import NotUnderstood
from athletes.importing.sheets.dates import read_day
from athletes.importing.sheets.headings import Use
from athletes.importing.sheets.names import turned
from athletes.importing.sheets.plan import Plan, Problem, is_number
from athletes.words import POUND_KG

# What people write where there is nothing to say.
NOT_SAID = frozenset(("", "-", "–", "—", "n/a", "na", "dns", "dnf", "dnt", "x", ".", "?", "none", "#n/a"))
SEXES = {"f": "female", "female": "female", "w": "female", "woman": "female", "women": "female", "♀": "female"}
SEXES |= {"m": "male", "male": "male", "man": "male", "men": "male", "♂": "male"}
# “h” stays out: where it is a man, “m” may be a woman.
SEXES |= dict.fromkeys(["weiblich", "frau", "femme", "féminin", "mujer", "femenino", "mulher", "feminino"], "female")
SEXES |= dict.fromkeys(["männlich", "mann", "homme", "masculin", "hombre", "masculino", "homem"], "male")
LEAST_KG, MOST_KG = 25.0, 300.0
LONGEST_NAME, LONGEST_BOARD = 80, 24
FIRST_BIRTH = date(1900, 1, 1)

Values = dict[str, str]  # the cells of a row by what they are for


@dataclass(frozen=True)
class Person:
    """Whom a row is about; `facts` by the names of the model's fields."""

    name: str
    board: str
    facts: dict = field(default_factory=dict)


def person_of(row: int, values: Values, plan: Plan) -> tuple[Person | None, list[Problem]]:
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


def _joined(text: str, plan: Plan) -> date:
    return read_day(text, plan.order, plan.today)


FACTS = {
    Use.BORN: ("born", _born),
    Use.SEX: ("sex", _sex),
    Use.MASS: ("body_mass_kg", _mass),
    Use.JOINED: ("joined_on", _joined),
}
