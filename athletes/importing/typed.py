"""A list of people that is typed or pasted: looked at, then kept, by the same rules as a file (`importing.batch`)."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from django.db import transaction

from athletes.estimates.write import estimates_refresh
from athletes.gym.read import today
from athletes.importing.batch import Batch, settle
from athletes.importing.read import roll
from athletes.importing.sheets.benches import Bench, Benches
from athletes.importing.sheets.columns import Plan
from athletes.importing.sheets.people import Test, Tests, read_people
from athletes.importing.sheets.rows import ReadCell, Understood
from athletes.models import Account, Athlete, Benchmark, ImportRemark
from athletes.words import day as day_words
from athletes.words import number

Kind = ImportRemark.Kind
KEPT_AS_NOTE = "From the list, not understood: {}"


@dataclass(frozen=True)
class TypedLine:
    """A line as it is read: who, what is said of them, what they can do, and what is not understood of it."""

    number: int
    name: str
    here: bool
    sex: str
    born: str
    mass: str
    joined: str
    known: list[str]
    problems: list[tuple[str, str]]  # the words, and what to do about them
    questions: list[str] = field(default_factory=list)  # results that surprise: kept, and asked about
    refused: list[str] = field(default_factory=list)  # what is left out, and why


@dataclass(frozen=True)
class Taken:
    """What became of a list."""

    lines: list[TypedLine]
    people: int
    newcomers: int
    results: int

    @property
    def to_look_at(self) -> int:
        return sum(bool(line.problems or line.questions or line.refused) for line in self.lines)


def people_read(*, text: str, day: date, by: Account | None, benchmarks: Iterable[Benchmark] | None = None) -> Taken:
    """What keeping the list would do; results count as of `day`. Nothing is written.

    `benchmarks` stand for the gym's own, and need not be kept.
    """
    return _take(text, day, by, benchmarks, write=False)


@transaction.atomic
def people_keep(*, text: str, day: date, by: Account | None) -> Taken:
    """Add who is not here, fill in what is not known of who is, and keep results. The same list again adds nothing.

    What is not understood of a line goes into the athlete's note, so that nothing typed is lost.
    """
    return _take(text, day, by, None, write=True)


def _take(text: str, day: date, by: Account | None, rows: Iterable[Benchmark] | None, *, write: bool) -> Taken:
    own = Benchmark.objects.filter(archived=False).select_related("movement__machine_type")
    benchmarks = {row.pk: row for row in (own if rows is None else rows)}
    tests = [
        Test(Bench(row.pk, row.name, row.measure, row.fixed), (row.movement.name, *row.movement.also_called))
        for row in benchmarks.values()
        if not row.movement.archived
    ]
    understood = read_people(text, Tests(tests), today=today(), day=day)
    known = {name.casefold() for name in Athlete.objects.values_list("name", flat=True)}
    plan = Plan(columns=(), benches=Benches([]), today=today())
    work = Batch(plan=plan, roll=roll(), benchmarks=benchmarks, by=by, create=True, asks=False)
    outcome = settle(understood, work, write=write)
    if write:
        _note(understood, outcome.athletes)
        estimates_refresh(athletes=sorted({athlete.pk for athlete in outcome.athletes.values()}))
    said = _said(understood, outcome.remarks)
    lines = [_line(says, known, said[says.row], benchmarks) for says in understood]
    people = {line.name.casefold() for line in lines if line.name}
    kept = outcome.counts["kept"] + outcome.counts["kept_of_newcomers"]
    return Taken(lines, len(people), outcome.counts["newcomers"], kept)


def _note(understood: list[Understood], athletes: dict[int, Athlete]) -> None:
    changed = {}
    for says in understood:
        athlete = athletes.get(says.row)
        words = "; ".join(problem.column for problem in says.problems if problem.column)
        line = KEPT_AS_NOTE.format(words)
        if athlete and words and line not in athlete.note:
            athlete.note = "\n".join(filter(None, [athlete.note, line]))
            changed[athlete.pk] = athlete
    Athlete.objects.bulk_update(changed.values(), ["note"])


def _said(understood: list[Understood], remarks: list[ImportRemark]) -> dict[int, dict[str, list[str]]]:
    """By the line and the kind of remark what is said of it, but for what the reading itself has said."""
    found: dict[int, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    reasons = {(says.row, problem.reason) for says in understood for problem in says.problems}
    for remark in remarks:
        if remark.kind == Kind.QUESTIONED or (remark.kind == Kind.REFUSED and (remark.row, remark.text) not in reasons):
            found[remark.row][remark.kind].append(remark.text)
        if remark.kind == Kind.NEWCOMER and remark.text:
            found[remark.row][Kind.QUESTIONED].append(remark.text)
    return found


def _line(says: Understood, known: set[str], said: dict[str, list[str]], benchmarks: dict[int, Benchmark]) -> TypedLine:
    facts = says.person.facts if says.person else {}
    born, joined, mass = facts.get("born"), facts.get("joined_on"), facts.get("body_mass_kg")
    name = says.person.name if says.person else ""
    return TypedLine(
        number=says.row,
        name=name,
        here=name.casefold() in known,
        sex=facts.get("sex", ""),
        born=_born(born) if born else "",
        mass=f"{number(mass)} kg" if mass else "",
        joined=day_words(joined) if joined else "",
        known=[_known(entry, benchmarks) for entry in says.entries],
        problems=[(problem.column, problem.reason) for problem in says.problems],
        questions=said[Kind.QUESTIONED],
        refused=said[Kind.REFUSED],
    )


def _known(entry: ReadCell, benchmarks: dict[int, Benchmark]) -> str:
    cannot = " (cannot do one yet)" if entry.value == 0 else ""
    return f"{benchmarks[entry.bench].name}: {entry.typed}{cannot}"


def _born(born: date) -> str:
    """A day, or the year where only that was said."""
    return str(born.year) if (born.month, born.day) == (12, 31) else day_words(born)
