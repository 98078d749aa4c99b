"""What is known while a file is gone through, and what is found of each row."""

from collections import Counter
from dataclasses import dataclass, field

from athletes.importing.read import Roll
from athletes.importing.sheets.names import name_key
from athletes.importing.sheets.plan import Plan, Problem
from athletes.importing.sheets.rows import Understood
from athletes.models import Account, Athlete, Benchmark, ImportRemark

Kind = ImportRemark.Kind


@dataclass
class Work:
    """What is known while a file is gone through."""

    plan: Plan
    roll: Roll
    benchmarks: dict[int, Benchmark]
    by: Account | None
    create: bool = False
    newcomers: dict[str, Athlete] = field(default_factory=dict)  # by `name_key`
    seen: set[tuple] = field(default_factory=set)
    filled: set[int] = field(default_factory=set)
    unknown: set[str] = field(default_factory=set)
    here: set[int] = field(default_factory=set)  # athletes met so far
    differing: set[tuple] = field(default_factory=set)  # what was told of them: a fact stands in each of their rows


@dataclass
class Outcome:
    """What became of some rows: numbers by name, remarks to show, and the athletes whose estimates are behind."""

    counts: Counter = field(default_factory=Counter)
    remarks: list[ImportRemark] = field(default_factory=list)
    touched: set[int] = field(default_factory=set)

    def remark(self, kind: Kind, row: int, column: str, text: str, subject: str = "") -> None:
        self.remarks.append(
            ImportRemark(kind=kind, row=row, column=column[:200], subject=subject[:200], text=text[:400])
        )


def refuse(problem: Problem, says: Understood, work: Work, outcome: Outcome) -> None:
    """Tell of a cell that cannot be used, and once of each name that no benchmark has."""
    who = says.person.name if says.person else ""
    outcome.remark(Kind.REFUSED, problem.row, problem.column, problem.reason, who)
    outcome.counts["refused"] += 1
    if problem.bench and (key := name_key(problem.bench)) not in work.unknown:
        work.unknown.add(key)
        outcome.remark(Kind.UNKNOWN, problem.row, problem.column, "", problem.bench)
