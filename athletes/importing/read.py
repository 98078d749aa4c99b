"""What an import needs of the gym: who is here, by every spelling, and which benchmarks there are."""

from dataclasses import dataclass, field
from functools import cached_property
from hashlib import sha256

from django.db.models import Case, Count, QuerySet, When

from athletes.importing.sheets.benches import Bench
from athletes.importing.sheets.headings import Use
from athletes.importing.sheets.names import Likeness, name_key
from athletes.models import Account, Athlete, Benchmark, Effort, Import, ImportRemark

RECENT = 20
AT_ONCE = 5000  # rows that are checked or kept while the page waits
REMEMBERED_FILES = 20  # whose names of benchmarks are known from then on
MOVED_ON = "This file has gone on meanwhile. Reload the page to see where it is."
TO_KEEP = ("kept", "kept_of_newcomers", "newcomers", "doubtful", "facts", "questioned")  # counts of a check
MOST_NAMES = 40
SEVERAL = "Several athletes are called “{}”. Give the name on the board, which each has alone."
ANOTHERS = "“{}” is {} on the board here, and not {}. Mend the name in the file, or leave its name on the board out."


class Ambiguous(ValueError):
    """A name that could be several athletes; the message says what to give instead."""


@dataclass
class Roll:
    """Athletes by name and by name on the board, as `name_key` compares them: ids.

    `said` holds whom a coach said that names mean: by `name_key` an id, or None for somebody new.
    """

    said: dict[str, int | None] = field(default_factory=dict)
    people: dict[int, tuple[str, str]] = field(default_factory=dict)  # as they are written
    by_name: dict[str, list[int]] = field(default_factory=dict)
    by_board: dict[str, int] = field(default_factory=dict)
    boards: set[str] = field(default_factory=set)  # as written, in lower case: each is given once

    def add(self, pk: int, name: str, board: str) -> None:
        self.people[pk] = name, board
        self.by_name.setdefault(name_key(name), []).append(pk)
        self.by_board[name_key(board)] = pk
        self.boards.add(board.lower())

    def find(self, name: str, board: str) -> int | None:
        """The athlete of that name, or None. A name alone may be one on the board; Ambiguous where neither decides."""
        if (said := self.said.get(name_key(name))) in self.people:
            return said
        same = self.by_name.get(name_key(name), [])
        on_the_board = self.by_board.get(name_key(board or name))
        if len(same) > 1 and on_the_board not in same:
            raise Ambiguous(SEVERAL.format(name))
        if not same and on_the_board and board and name_key(board) != name_key(name):
            raise Ambiguous(ANOTHERS.format(board, self.people[on_the_board][0], name))
        return same[0] if len(same) == 1 else on_the_board

    @cached_property
    def likeness(self) -> Likeness:
        """Those who are here from the beginning, to be found by names that may be theirs."""
        return Likeness((pk, *names) for pk, names in self.people.items())

    def who(self, name: str, board: str = "") -> list[int]:
        """Whom someone of this name may be. Nobody where a coach said that it is somebody new."""
        return [] if name_key(name) in self.said else self.likeness.find(name, board)


def roll(said: dict[str, int | None] | None = None) -> Roll:
    """Everyone who ever trained here, by the names of those too who turned out to be one of them; one query."""
    found, merged = Roll(), {}
    for pk, name, board, merged_into in Athlete.everyone.values_list("pk", "name", "board_name", "merged_into"):
        merged[pk] = merged_into
        if not merged_into:
            found.add(pk, name, board)
        elif merged_into not in found.by_name.get(name_key(name), ()):
            found.by_name.setdefault(name_key(name), []).append(merged_into)
    for name, pk in (said or {}).items():
        while merged.get(pk):  # found to be another since
            pk = merged[pk]
        if pk is None or pk in found.people:
            found.said[name_key(name)] = pk
    return found


def benches() -> list[Bench]:
    """The benchmarks in use, with all names of their movements; one query."""
    rows = Benchmark.objects.filter(archived=False).select_related("movement").order_by("name")
    return [
        Bench(row.pk, row.name, row.measure, row.fixed, (row.movement.name, *row.movement.also_called)) for row in rows
    ]


def names_explained() -> dict[str, int]:
    """What coaches said of names in the latest files that were kept, of headings too: benchmarks by name; one query.

    What was only guessed of a heading, and let stand, is guessed again.
    """
    explained: dict[str, int] = {}
    kept = Import.objects.filter(state=Import.State.DONE).order_by("-finished_at")
    for reading in reversed(list(kept.values_list("reading", flat=True)[:REMEMBERED_FILES])):
        for part in reading.get("parts", []):
            guesses = part.get("guesses", part["uses"])
            for heading, use, guess in zip(part["headings"], part["uses"], guesses, strict=False):
                if heading and use != guess and use.startswith(Use.RESULT_OF):
                    explained[heading] = int(use.removeprefix(Use.RESULT_OF))
        explained.update(reading.get("names", {}))
    return explained


def import_unfinished(content: bytes, by: Account) -> Import | None:
    """The latest import of the very same file by the same person, where it is not done yet; one query."""
    same = Import.objects.filter(digest=sha256(content).hexdigest(), made_by=by)
    return same.exclude(state__in=[Import.State.DONE, Import.State.TAKEN_BACK]).defer("content").first()


def at_once(source: Import) -> bool:
    """Whether all of it is done while the page waits, and not by the worker."""
    return sum(part["rows"] for part in source.reading["parts"]) <= AT_ONCE


def efforts_of(source: Import) -> QuerySet[Effort]:
    """What was kept of a file and still counts."""
    return Effort.objects.standing().filter(import_key=source.key)


def nothing_to_keep(source: Import) -> str:
    """Why there is nothing to keep of a file that is checked, in words; empty where there is something.

    Estimates that an earlier, broken-off keeping left behind are something.
    """
    if source.touched or any(source.counts.get(name) for name in TO_KEEP):
        return ""
    if not source.counts.get("rows"):
        return "There is no row below the headings, so there is nothing to keep."
    if source.counts.get("refused") or not (source.counts.get("here") or source.counts.get("same")):
        return "There is nothing to keep: whatever is not known already is left out."
    if unused(source):
        return "There is nothing to keep: what stands in the columns that are used is known already."
    return "Everything in this file is known already."


def unused(source: Import) -> list[str]:
    """Columns and sheets with something in them that are not brought in, in words."""
    parts = source.reading["parts"]
    found = []
    for part in parts:
        of = f"{part['sheet']}: " if len(parts) > 1 else ""
        if part["take"]:
            found += [f"{of}“{title}”" for title in part.get("unused", [])]
        else:
            found.append(f"the sheet “{part['sheet']}”")
    return found


def imports_recent() -> QuerySet[Import]:
    """The latest imports with who made them, without their files; one query."""
    return Import.objects.defer("content", "touched").select_related("made_by")[:RECENT]


def remark_counts(source: Import) -> dict[str, int]:
    """How many remarks there are of each kind; one query."""
    counted = source.remarks.order_by().values_list("kind").annotate(Count("pk"))
    return {kind.value: 0 for kind in ImportRemark.Kind} | dict(counted)


def unknown_names(source: Import) -> list[str]:
    """The names in a file that no benchmark has, the first MOST_NAMES of them; one query."""
    return _first_asked(source, source.remarks.filter(kind=ImportRemark.Kind.UNKNOWN))


def doubtful_names(source: Import) -> list[str]:
    """The names in a file of whom it is to be said who they are, the first MOST_NAMES of them; one query."""
    return _first_asked(source, doubtful(source))


def _first_asked(source: Import, remarks: QuerySet[ImportRemark]) -> list[str]:
    """Those that a coach has left without an answer come last, so that all are asked about in the end."""
    aside = source.reading.get("aside")
    order = [Case(When(subject__in=aside, then=1), default=0)] if aside else []  # PostgreSQL sorts by no constant
    return list(remarks.order_by(*order, "subject", "pk").values_list("subject", flat=True)[:MOST_NAMES])


def doubtful(source: Import) -> QuerySet[ImportRemark]:
    """What is said of people who are not here by their name, and may be all the same, or are nobody."""
    return source.remarks.filter(kind=ImportRemark.Kind.NEWCOMER).exclude(text="")
