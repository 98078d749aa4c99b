"""A thousand rows of a file at a time: whom they are about, what is new in them, and what becomes of each.

The same work checks a file and keeps it; only keeping writes. What is decided here:

- An athlete is found by the name on the board or by the name. Who is not here is added only when the coach says so, and
  whose name is like that of somebody here, or like nobody's, only when the coach says who it is.
- Facts of an athlete fill what is empty; nothing that is kept already is overwritten, but a difference is told.
- A result that cannot be right as it stands (`Doubt.IMPOSSIBLE`) is left out and told, because it is a slip of the
  file and not of the athlete. One that is only surprising is left out unless the coach ticked it; what surprises only
  since the coach has looked, because of a result that came in meanwhile, is kept with its question.
- A plain number that is impossible as seconds is read as minutes, as the coach said for another column, or asks.
- A result that is kept already, standing or voided, is not kept again, so the same file twice changes nothing; unless
  it was voided because its file was taken back.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import chain
from uuid import UUID, uuid5

from athletes.importing.doubts import Candidate, doubts
from athletes.importing.read import Ambiguous, Roll
from athletes.importing.sheets.columns import Plan
from athletes.importing.sheets.headings import Use
from athletes.importing.sheets.names import name_key
from athletes.importing.sheets.reading import Row
from athletes.importing.sheets.rows import (
    LONGEST_BOARD,
    SUMS_UP,
    Person,
    Problem,
    ReadCell,
    Understood,
    is_no_name,
    understand,
)
from athletes.models import Account, Athlete, Benchmark, Effort, ImportRemark, Link
from athletes.models.link import new_nonce
from athletes.words import day, number, result_text

Kind = ImportRemark.Kind
KEYS = UUID("6f1d3c0e-4c43-5c0b-9f0a-2f6f1d7a8e51")  # of the keys made here: any constant one
# Facts by the model's name for them: what they are called here, and what their column is for.
FACTS = {
    "born": ("date of birth", Use.BORN),
    "sex": ("sex", Use.SEX),
    "body_mass_kg": ("body mass", Use.MASS),
    "joined_on": ("joined on", Use.JOINED),
}
ROUNDED_KG = 0.1  # what pounds and whole digits make of one and the same body mass
DIFFERS = "{}: kept {}; the file says {}: left as it is. Change it on the athlete's page."
IF_ADDED = "Kept if the athlete is added."
ONCE = "No repetitions are said, so it counts as one."
IF_SAID = "Kept once it is said who this is."
LIKE = "Like {}, who is here."
NO_PERSON = "Is this a person?"


@dataclass
class Batch:
    """What is known while a file is gone through."""

    plan: Plan | None  # of the sheet that is gone through
    roll: Roll
    benchmarks: dict[int, Benchmark]
    by: Account | None
    create: bool = False
    asks: bool = True  # whether it can be said who doubtful newcomers are, before anything is kept
    sheet: str = ""
    import_key: UUID | None = None
    taken_back: list[UUID] = field(default_factory=list)  # keys of imports that were
    left_out: set[tuple] | None = field(default_factory=set)  # of questioned cells: sheet, row, column; None: all
    newcomers: dict[str, Athlete] = field(default_factory=dict)  # by `name_key`
    doubtful: set[str] = field(default_factory=set)  # of them those who may be here already, or nobody
    seen: set[tuple] = field(default_factory=set)
    filled: set[int] = field(default_factory=set)
    unknown: set[str] = field(default_factory=set)
    here: set[int] = field(default_factory=set)  # athletes met so far
    differing: set[tuple] = field(default_factory=set)  # what was told of them: a fact stands in each of their rows
    told: set[tuple] = field(default_factory=set)  # facts of them that are new: nothing is filled in by a check


@dataclass
class Outcome:
    """What became of some rows: numbers by name, remarks to show, athletes whose estimates are behind, and whom each
    row is about."""

    counts: Counter = field(default_factory=Counter)
    remarks: list[ImportRemark] = field(default_factory=list)
    touched: set[int] = field(default_factory=set)
    added: list[int] = field(default_factory=list)  # athletes
    filled: dict[int, dict] = field(default_factory=dict)  # facts, by the athlete
    athletes: dict[int, Athlete] = field(default_factory=dict)

    def remark(self, kind: Kind, row: int, column: str, text: str, subject: str = "", **understood) -> None:
        """`understood` is a result, as `_in_remark` has it."""
        if kind in (Kind.REFUSED, Kind.QUESTIONED):
            self.counts[kind.value] += 1
        words = {"column": column[:200], "subject": subject[:200], "text": text[:400]}
        self.remarks.append(ImportRemark(kind=kind, row=row, **words, **understood))

    def refuse(self, problem: Problem, says: Understood, work: Batch) -> None:
        """Tell of a cell that cannot be used, and once of each name that no benchmark has."""
        who = says.person.name if says.person else ""
        self.remark(Kind.REFUSED, problem.row, problem.column, problem.reason, who)
        if problem.bench and (key := name_key(problem.bench)) not in work.unknown:
            work.unknown.add(key)
            self.remark(Kind.UNKNOWN, problem.row, problem.column, "", problem.bench)


def take(rows: list[Row], work: Batch, *, write: bool) -> Outcome:
    """Go through some rows of the file; with `write` inside the caller's transaction. A constant number of queries."""
    return settle([understand(number, cells, work.plan) for number, cells in rows], work, write=write)


def settle(read: list[Understood], work: Batch, *, write: bool) -> Outcome:
    """What becomes of rows that are understood, however they were read."""
    outcome = Outcome(Counter(rows=len(read)))
    for says in read:
        outcome.counts["empty"] += says.empty
        if says.sums_up:
            outcome.counts["sums"] += 1
            outcome.remark(Kind.REFUSED, says.row, "", SUMS_UP)
        for problem in says.problems:
            outcome.refuse(problem, says, work)
    outcome.athletes = athletes = people_of(read, work, outcome, write)
    candidates = [
        Candidate(entry, athletes[says.row]) for says in read if says.row in athletes for entry in says.entries
    ]
    outcome.counts["results"] += sum(len(says.entries) for says in read)
    fresh = _fresh(_in_minutes(candidates, work), work, outcome)
    kept = _judged(fresh, work, outcome)
    outcome.remarks.sort(key=lambda remark: remark.row)
    for remark in outcome.remarks:
        remark.sheet = work.sheet[:60]
    if write:
        outcome.touched |= {candidate.athlete.pk for candidate, _ in kept}
        Effort.objects.bulk_create([_effort(*one, work) for one in kept], ignore_conflicts=True)
    return outcome


def _in_minutes(candidates: list[Candidate], work: Batch) -> list[Candidate]:
    """The candidates, with plain numbers as minutes that are impossible as seconds and possible so."""
    others = {place: replace(c, entry=c.entry.in_minutes) for place, c in enumerate(candidates) if c.entry.in_minutes}
    if not others:
        return candidates
    answers = doubts([candidates[place] for place in others] + list(others.values()), work.benchmarks)
    seconds, minutes = answers[: len(others)], answers[len(others) :]
    for place, as_seconds, as_minutes in zip(list(others), seconds, minutes, strict=True):
        if not as_seconds.refused or as_minutes.refused:
            del others[place]
    return [others.get(place, candidate) for place, candidate in enumerate(candidates)]


def _fresh(candidates: list[Candidate], work: Batch, outcome: Outcome) -> list[Candidate]:
    """Those that are kept neither in the database nor by an earlier row of the file."""
    here = [c for c in candidates if c.athlete.pk]
    kept = (
        Effort.objects.filter(
            athlete__in={c.athlete.pk for c in here},
            benchmark__in={c.entry.bench for c in here},
            performed_on__in={c.entry.day for c in here},
        )
        .exclude(import_key__in=work.taken_back, voided_at__isnull=False)
        .values_list("athlete_id", "benchmark_id", "performed_on", "value", "repetitions")
    )
    known = {(*effort[:3], round(effort[3], 6), effort[4]) for effort in kept} if here else set()
    fresh = []
    for candidate in candidates:
        same = _same(candidate)
        if same in known or same in work.seen:
            outcome.counts["same" if same in known else "twice"] += 1
        else:
            work.seen.add(same)
            fresh.append(candidate)
    return fresh


def _same(candidate: Candidate) -> tuple:
    entry, who = candidate.entry, candidate.athlete.pk or name_key(candidate.athlete.name)
    return who, entry.bench, entry.day, round(entry.value, 6), entry.repetitions


def _judged(fresh: list[Candidate], work: Batch, outcome: Outcome) -> list[tuple[Candidate, str]]:
    """Candidates that are kept, each with the question about it where there is one. None at all raises no question:
    whoever cannot do one yet is no slip."""
    kept = []
    for candidate, answer in zip(fresh, doubts(fresh, work.benchmarks), strict=True):
        entry, who = candidate.entry, candidate.athlete.name
        understood = _in_remark(entry, work.benchmarks[entry.bench])
        if answer.refused:
            outcome.remark(Kind.REFUSED, entry.row, entry.column, answer.refused, who, **understood)
            continue
        asks = " ".join(filter(None, [entry.question, answer.question]))
        if asks and entry.value > 0:
            shown = result_text(work.benchmarks[entry.bench].measure, entry.value, entry.repetitions, entry.unit)
            question = f"“{shown}”: {asks}"
            outcome.remark(Kind.QUESTIONED, entry.row, entry.column, question, who, **understood)
            if work.left_out is None or (work.sheet, entry.row, entry.column) in work.left_out:
                continue
        outcome.counts["kept" if candidate.athlete.pk else "kept_of_newcomers"] += 1
        outcome.counts["once"] += entry.once
        said = " ".join(filter(None, [_waits(candidate.athlete, work), entry.once and ONCE]))
        outcome.remark(Kind.KEPT, entry.row, entry.column, said, who, **understood)
        kept.append((candidate, asks))
    return kept


def _in_remark(entry: ReadCell, benchmark: Benchmark) -> dict:
    """What was understood of a result, by the names of a remark's fields."""
    result = result_text(benchmark.measure, entry.value, entry.repetitions)
    return {"benchmark": benchmark.name, "performed_on": entry.day, "result": result}


def _effort(candidate: Candidate, question: str, work: Batch) -> Effort:
    """The effort to keep; the same athlete, benchmark, day and value always give the same key, until a file is taken
    back."""
    entry, athlete, benchmark = candidate.entry, candidate.athlete, work.benchmarks[candidate.entry.bench]
    parts = (athlete.key, benchmark.slug, entry.day.isoformat(), repr(round(entry.value, 6)), entry.repetitions or "")
    parts += (len(work.taken_back),) if work.taken_back else ()
    return Effort(
        key=uuid5(KEYS, "|".join(map(str, parts))),
        athlete=athlete,
        benchmark=benchmark,
        fixed=benchmark.fixed,
        value=entry.value,
        repetitions=entry.repetitions,
        typed=entry.typed,
        performed_on=entry.day,
        entered_by=work.by,
        question=question,
        import_key=work.import_key,
    )


def people_of(read: list[Understood], work: Batch, outcome: Outcome, write: bool) -> dict[int, Athlete]:
    """The athlete of each row that has one, by the row's number; with their facts filled in, and newcomers added."""
    ids, newcomers = _told_apart(read, work, outcome)
    here = Athlete.objects.in_bulk(set(ids.values()))
    athletes = {row: here[pk] for row, pk in ids.items() if pk in here}
    outcome.counts["here"] += len(here.keys() - work.here)
    work.here |= set(here)
    for says in read:
        if athlete := athletes.get(says.row):
            _differences(athlete, says, work, outcome)
    for says in read:
        if (athlete := athletes.get(says.row)) and (news := _fill(athlete, says.person)):
            outcome.filled.setdefault(athlete.pk, {}).update(news)
            _tell(news, athlete, says, work, outcome)
    changed = {pk: athlete for athlete in athletes.values() if (pk := athlete.pk) in outcome.filled}
    outcome.counts["facts"] += len(changed.keys() - work.filled)
    work.filled |= set(changed)
    if write:
        Athlete.objects.bulk_update(changed.values(), FACTS)
        outcome.touched |= set(changed)
    if write:
        added = {row: who for row, who in newcomers.items() if work.create and name_key(who.name) not in work.doubtful}
        left = newcomers.keys() - added.keys()
        outcome.counts["without_athlete"] += sum(len(says.entries) for says in read if says.row in left)
        newcomers = added
    for says in read:
        if newcomer := newcomers.get(says.row):
            _tell(_fill(newcomer, says.person), newcomer, says, work, outcome)
    if write:
        outcome.added = _add({id(athlete): athlete for athlete in newcomers.values()}.values(), work)
    return athletes | newcomers


def _told_apart(read: list[Understood], work: Batch, outcome: Outcome) -> tuple[dict[int, int], dict[int, Athlete]]:
    """By the row's number: ids of athletes who are here, and newcomers as they would be added."""
    ids, newcomers = {}, {}
    for says in read:
        if says.person is None:
            continue
        try:
            pk = work.roll.find(says.person.name, says.person.board)
        except Ambiguous as error:
            outcome.refuse(Problem(says.row, work.plan.title("name", "first", "last"), str(error)), says, work)
            continue
        if pk:
            ids[says.row] = pk
        else:
            newcomers[says.row] = _newcomer(says, work, outcome)
    return ids, newcomers


def _newcomer(says: Understood, work: Batch, outcome: Outcome) -> Athlete:
    """The athlete who would be added for a row: one for all rows of that name."""
    person, key = says.person, name_key(says.person.name)
    if key not in work.newcomers:
        doubt = _doubt(person, work.roll)
        if doubt and work.asks:
            work.doubtful.add(key)
        outcome.remark(Kind.NEWCOMER, says.row, "", doubt, person.name)
        outcome.counts["doubtful" if key in work.doubtful else "newcomers"] += 1
        board = free_board_name(person, work.roll.boards)
        work.roll.boards.add(board.lower())
        work.newcomers[key] = Athlete(name=person.name, board_name=board)
    return work.newcomers[key]


def _doubt(person: Person, roll: Roll) -> str:
    """Why someone who is not here by this name may be nobody new, in words; empty where nothing says so."""
    if near := roll.who(person.name, person.board):
        return LIKE.format(" or ".join(roll.people[pk][0] for pk in near))
    return NO_PERSON if is_no_name(person.name) and name_key(person.name) not in roll.said else ""


def _add(newcomers: Iterable[Athlete], work: Batch) -> list[int]:
    """Put athletes into the database, each with a personal link from the first day; their ids."""
    added = Athlete.objects.bulk_create([athlete for athlete in newcomers if athlete.pk is None])
    Link.objects.bulk_create(
        Link(kind=Link.Kind.ATHLETE, athlete=athlete, nonce=new_nonce(), created_by=work.by) for athlete in added
    )
    for athlete in added:
        work.roll.add(athlete.pk, athlete.name, athlete.board_name)
    return [athlete.pk for athlete in added]


def _fill(athlete: Athlete, person: Person) -> dict:
    """Write what the file knows of an athlete where nothing is known yet; what that was."""
    news = {name: value for name, value in person.facts.items() if getattr(athlete, name) in (None, "")}
    for name, value in news.items():
        setattr(athlete, name, value)
    return news


def _tell(news: dict, athlete: Athlete, says: Understood, work: Batch, outcome: Outcome) -> None:
    """Tell, once each, of facts that are filled in, with their values as they are kept."""
    for fact, value in news.items():
        if athlete.pk and (athlete.pk, fact) in work.told:
            continue
        work.told.add((athlete.pk, fact))
        name, use = FACTS[fact]
        text = " ".join(filter(None, [f"{name.capitalize()}.", _waits(athlete, work)]))
        outcome.remark(Kind.FACT, says.row, work.plan.title(use), text, athlete.name, result=_in_words(value))


def _waits(athlete: Athlete, work: Batch) -> str:
    """What it depends on whether something of this athlete is kept, in words; empty for who is here."""
    if athlete.pk:
        return ""
    return IF_SAID if name_key(athlete.name) in work.doubtful else IF_ADDED


def _differences(athlete: Athlete, says: Understood, work: Batch, outcome: Outcome) -> None:
    """Tell, once each, of facts in the file that are not those that are kept."""
    for fact, value in says.person.facts.items():
        kept = getattr(athlete, fact)
        same = abs(kept - value) < ROUNDED_KG if isinstance(kept, float) else kept == value
        if same or kept in (None, "") or (athlete.pk, fact, value) in work.differing:
            continue
        work.differing.add((athlete.pk, fact, value))
        name, use = FACTS[fact]
        text = DIFFERS.format(name.capitalize(), _in_words(kept), _in_words(value))
        outcome.remark(Kind.REFUSED, says.row, work.plan.title(use), text, athlete.name)


def _in_words(fact: date | float | str) -> str:
    if isinstance(fact, date):
        return day(fact)
    return f"{number(fact, 2)} kg" if isinstance(fact, float) else str(fact)


def free_board_name(person: Person, taken: set[str]) -> str:
    """A name for the board that nobody has: as the file says, the first name, with initials, or with a number."""
    parts = person.name.split()
    first, initials = parts[0], "".join(f"{part[0]}." for part in parts[1:])
    wanted = [person.board, first, f"{first} {initials}".strip(), person.name]
    numbered = (f"{first[: LONGEST_BOARD - 6]} {number}" for number in range(2, 100_000))
    return next(n[:LONGEST_BOARD] for n in chain(wanted, numbered) if n and n[:LONGEST_BOARD].lower() not in taken)
