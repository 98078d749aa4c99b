"""A thousand rows of a file at a time: whom they are about, what is new in them, and what becomes of each.

The same work checks a file and keeps it; only keeping writes. What is decided here:

- An athlete is found by the name on the board or by the name. Who is not here is added only when the coach says so.
- Facts of an athlete fill what is empty; nothing that is kept already is overwritten, but a difference is told.
- A result that cannot be right as it stands (`Doubt.IMPOSSIBLE`) is left out and told, because it is a slip of the
  file and not of the athlete. One that is only surprising is kept with the question, as if it had been confirmed.
- A result that is kept already, standing or voided, is not kept again, so the same file twice changes nothing.
"""

from collections import Counter
from uuid import UUID, uuid5

from athletes.importing.doubts import Candidate, doubts
from athletes.importing.people import people_of
from athletes.importing.sheets.names import name_key
from athletes.importing.sheets.reading import Row
from athletes.importing.sheets.rows import Entry, understand
from athletes.importing.work import Kind, Outcome, Work, refuse
from athletes.models import Athlete, Benchmark, Effort

KEYS = UUID("6f1d3c0e-4c43-5c0b-9f0a-2f6f1d7a8e51")  # of the keys made here: any constant one


def take(rows: list[Row], work: Work, *, write: bool) -> Outcome:
    """Go through some rows of the file; with `write` inside the caller's transaction. A constant number of queries."""
    outcome = Outcome(Counter(rows=len(rows)))
    read = [understand(number, cells, work.plan) for number, cells in rows]
    for says in read:
        outcome.counts["empty"] += says.empty
        for problem in says.problems:
            refuse(problem, says, work, outcome)
    athletes = people_of(read, work, outcome, write)
    candidates = [
        Candidate(entry, athletes[says.row]) for says in read if says.row in athletes for entry in says.entries
    ]
    outcome.counts["results"] += sum(len(says.entries) for says in read)
    fresh = _fresh(candidates, work, outcome)
    kept = _judged(fresh, work, outcome)
    if write:
        outcome.touched |= {candidate.athlete.pk for candidate, _ in kept}
        Effort.objects.bulk_create([_effort(*one, work) for one in kept], ignore_conflicts=True)
    return outcome


def _fresh(candidates: list[Candidate], work: Work, outcome: Outcome) -> list[Candidate]:
    """Those that are kept neither in the database nor by an earlier row of the file."""
    here = [c for c in candidates if c.athlete.pk]
    kept = Effort.objects.filter(
        athlete__in={c.athlete.pk for c in here},
        benchmark__in={c.entry.bench for c in here},
        performed_on__in={c.entry.day for c in here},
    ).values_list("athlete_id", "benchmark_id", "performed_on", "value", "repetitions")
    known = {(*effort[:3], round(effort[3], 6), effort[4]) for effort in kept} if here else set()
    fresh = []
    for candidate in candidates:
        same = _same(candidate)
        if same in known or same in work.seen:
            outcome.counts["same"] += 1
        else:
            work.seen.add(same)
            fresh.append(candidate)
    return fresh


def _same(candidate: Candidate) -> tuple:
    entry, who = candidate.entry, candidate.athlete.pk or name_key(candidate.athlete.name)
    return who, entry.bench, entry.day, round(entry.value, 6), entry.repetitions


def _judged(fresh: list[Candidate], work: Work, outcome: Outcome) -> list[tuple[Candidate, str]]:
    """Candidates that are kept, each with the question about it where there is one."""
    kept = []
    for candidate, answer in zip(fresh, doubts(fresh, work.benchmarks), strict=True):
        entry, who = candidate.entry, candidate.athlete.name
        if answer.refused:
            outcome.remark(Kind.REFUSED, entry.row, entry.column, answer.refused, who)
            outcome.counts["refused"] += 1
            continue
        if answer.question:
            outcome.remark(Kind.QUESTIONED, entry.row, entry.column, f"“{entry.typed}”: {answer.question}", who)
            outcome.counts["questioned"] += 1
        outcome.counts["kept" if candidate.athlete.pk else "kept_of_newcomers"] += 1
        kept.append((candidate, answer.question))
    return kept


def _effort(candidate: Candidate, question: str, work: Work) -> Effort:
    entry, athlete = candidate.entry, candidate.athlete
    return Effort(
        key=effort_key(athlete, work.benchmarks[entry.bench], entry),
        athlete=athlete,
        benchmark_id=entry.bench,
        fixed=work.benchmarks[entry.bench].fixed,
        value=entry.value,
        repetitions=entry.repetitions,
        typed=entry.typed,
        performed_on=entry.day,
        entered_by=work.by,
        question=question,
    )


def effort_key(athlete: Athlete, benchmark: Benchmark, entry: Entry) -> UUID:
    """The key of an imported effort: the same athlete, benchmark, day and value always give the same."""
    parts = (athlete.key, benchmark.slug, entry.day.isoformat(), repr(round(entry.value, 6)), entry.repetitions or "")
    return uuid5(KEYS, "|".join(map(str, parts)))
