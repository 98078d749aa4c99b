"""Whom the rows of a file are about: athletes who are here, and newcomers."""

from collections.abc import Iterable
from datetime import date

from athletes.importing.read import Ambiguous
from athletes.importing.sheets.headings import Use
from athletes.importing.sheets.names import name_key
from athletes.importing.sheets.people import LONGEST_BOARD, Person
from athletes.importing.sheets.plan import Problem
from athletes.importing.sheets.rows import Understood
from athletes.importing.work import Kind, Outcome, Work, refuse
from athletes.models import Athlete, Link
from athletes.models.link import new_nonce
from athletes.words import day, number

# Facts by the model's name for them: what they are called here, and what their column is for.
FACTS = {
    "born": ("date of birth", Use.BORN),
    "sex": ("sex", Use.SEX),
    "body_mass_kg": ("body mass", Use.MASS),
    "joined_on": ("joined on", Use.JOINED),
}
ROUNDED_KG = 0.1  # what pounds and whole digits make of one and the same body mass
DIFFERS = "{}: kept {}; the file says {}: left as it is. Change it on the athlete's page."
MOST_COMPARED = 100  # newcomers whose name is compared with everyone's
LIKE = "Like {}, who is here. If it is the same person, mend the name in the file."


def people_of(read: list[Understood], work: Work, outcome: Outcome, write: bool) -> dict[int, Athlete]:
    """The athlete of each row that has one, by the row's number; with their facts filled in, and newcomers added."""
    ids, newcomers = _told_apart(read, work, outcome)
    here = Athlete.objects.in_bulk(set(ids.values()))
    athletes = {row: here[pk] for row, pk in ids.items() if pk in here}
    outcome.counts["here"] += len(here.keys() - work.here)
    work.here |= set(here)
    for says in read:
        if athlete := athletes.get(says.row):
            _differences(athlete, says, work, outcome)
    changed = {a.pk: a for says in read if (a := athletes.get(says.row)) and _fill(a, says.person)}
    outcome.counts["facts"] += len(changed.keys() - work.filled)
    work.filled |= set(changed)
    if write:
        Athlete.objects.bulk_update(changed.values(), FACTS)
        outcome.touched |= set(changed)
    if write and not work.create:
        outcome.counts["without_athlete"] += sum(len(says.entries) for says in read if says.row in newcomers)
        return athletes
    for says in read:
        if newcomer := newcomers.get(says.row):
            _fill(newcomer, says.person)
    if write:
        _add({id(athlete): athlete for athlete in newcomers.values()}.values(), work)
    return athletes | newcomers


def _told_apart(read: list[Understood], work: Work, outcome: Outcome) -> tuple[dict[int, int], dict[int, Athlete]]:
    """By the row's number: ids of athletes who are here, and newcomers as they would be added."""
    ids, newcomers = {}, {}
    for says in read:
        if says.person is None:
            continue
        try:
            pk = work.roll.find(says.person.name, says.person.board)
        except Ambiguous as error:
            refuse(Problem(says.row, work.plan.title("name", "first", "last"), str(error)), says, work, outcome)
            continue
        if pk:
            ids[says.row] = pk
        else:
            newcomers[says.row] = _newcomer(says, work, outcome)
    return ids, newcomers


def _newcomer(says: Understood, work: Work, outcome: Outcome) -> Athlete:
    """The athlete who would be added for a row: one for all rows of that name."""
    person, key = says.person, name_key(says.person.name)
    if key not in work.newcomers:
        like = work.roll.like(person.name) if len(work.newcomers) < MOST_COMPARED else ""
        outcome.remark(Kind.NEWCOMER, says.row, "", LIKE.format(like) if like else "", person.name)
        outcome.counts["newcomers"] += 1
        board = free_board_name(person, work.roll.boards)
        work.roll.boards.add(board.lower())
        work.newcomers[key] = Athlete(name=person.name, board_name=board)
    return work.newcomers[key]


def _add(newcomers: Iterable[Athlete], work: Work) -> None:
    """Put athletes into the database, each with a personal link from the first day."""
    added = Athlete.objects.bulk_create([athlete for athlete in newcomers if athlete.pk is None])
    Link.objects.bulk_create(
        Link(kind=Link.Kind.ATHLETE, athlete=athlete, nonce=new_nonce(), created_by=work.by) for athlete in added
    )
    for athlete in added:
        work.roll.add(athlete.pk, athlete.name, athlete.board_name)


def _fill(athlete: Athlete, person: Person) -> bool:
    """Write what the file knows of an athlete where nothing is known yet; whether there was something."""
    news = {name: value for name, value in person.facts.items() if getattr(athlete, name) in (None, "")}
    for name, value in news.items():
        setattr(athlete, name, value)
    return bool(news)


def _differences(athlete: Athlete, says: Understood, work: Work, outcome: Outcome) -> None:
    """Tell, once each, of facts in the file that are not those that are kept."""
    for fact, value in says.person.facts.items():
        kept = getattr(athlete, fact)
        if kept in (None, "") or _same(kept, value) or (athlete.pk, fact, value) in work.differing:
            continue
        work.differing.add((athlete.pk, fact, value))
        name, use = FACTS[fact]
        text = DIFFERS.format(name.capitalize(), _in_words(kept), _in_words(value))
        outcome.remark(Kind.REFUSED, says.row, work.plan.title(use), text, athlete.name)
        outcome.counts["refused"] += 1


def _same(kept: date | float | str, said: date | float | str) -> bool:
    return abs(kept - said) < ROUNDED_KG if isinstance(kept, float) else kept == said


def _in_words(fact: date | float | str) -> str:
    if isinstance(fact, date):
        return day(fact)
    return f"{number(fact)} kg" if isinstance(fact, float) else str(fact)


def free_board_name(person: Person, taken: set[str]) -> str:
    """A name for the board that nobody has: as the file says, the first name, with initials, or with a number."""
    parts = person.name.split()
    first, initials = parts[0], "".join(f"{part[0]}." for part in parts[1:])
    wanted = [person.board, first, f"{first} {initials}".strip(), person.name]
    wanted += [f"{first[: LONGEST_BOARD - 6]} {number}" for number in range(2, 100_000)]
    return next(name[:LONGEST_BOARD] for name in wanted if name and name[:LONGEST_BOARD].lower() not in taken)
