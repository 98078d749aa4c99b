"""The retest list as a day is planned from it: one line a test, with the people of whom it would say most."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from statistics import fmean

from athletes.efforts.read import RETEST_AFTER
from athletes.models import Benchmark
from athletes.people.read import names_having
from athletes.words import day as day_words
from athletes.words import percent
from sessions.retests.propose import ANOTHER_MOVEMENT, Proposal

MOST_TESTS = 8  # lines: a screenful
MOST_PEOPLE = 12  # of a line: about what a few machines allow in an hour
NAMED = 5
SHOWN = {"all": "everyone", "never": "never tested", "old": "not for half a year"}


@dataclass(frozen=True)
class TestLine:
    """A test: those of whom it would say most, how many more there are, and how large and how old it all is."""

    __test__ = False  # not a test, whatever its name

    benchmark: Benchmark
    people: list[Proposal]
    more: int
    size: str
    last: str

    @property
    def picks(self) -> str:
        """The tests of the line as the plan of a day takes them."""
        return ",".join(f"{line.athlete.pk}-{line.benchmark.pk}" for line in self.people)

    @property
    def named(self) -> list[Proposal]:
        return self.people[:NAMED]

    @property
    def unnamed(self) -> list[Proposal]:
        return self.people[NAMED:]


def by_test(lines: list[Proposal], *, today: date, shown: str = "all", query: str = "") -> list[TestLine]:
    """The tests that could change most of what is asked, the largest first, of whom is `shown` and has the name."""
    has = names_having(query)
    own: dict[int, list[Proposal]] = defaultdict(list)
    for line in lines:
        old = line.last is not None and today - line.last > RETEST_AFTER
        fits = {"never": line.last is None, "old": old}.get(shown, True)
        if fits and has(line.athlete.name, line.athlete.board_name):
            own[line.benchmark.pk].append(line)
    worth = {pk: sum(line.gain for line in found[:MOST_PEOPLE]) for pk, found in own.items()}
    first = sorted(own, key=lambda pk: -worth[pk])[:MOST_TESTS]
    return [_line(own[pk], today) for pk in first]


def _line(found: list[Proposal], today: date) -> TestLine:
    people = found[:MOST_PEOPLE]
    swaps = sum(line.change >= ANOTHER_MOVEMENT for line in people)
    doses = [line.change for line in people if line.change < ANOTHER_MOVEMENT]
    size = [f"doses by about {percent(fmean(doses))}"] if doses else []
    size += [f"the movement of {swaps}"] if swaps else []
    return TestLine(people[0].benchmark, people, len(found) - len(people), " and ".join(size), _last(people, today))


def _last(people: list[Proposal], today: date) -> str:
    """never; 3 Nov; 3 May 2025 to 3 Nov, 2 never."""
    days = sorted(line.last for line in people if line.last)
    never = len(people) - len(days)
    if not days:
        return "never"
    ends = dict.fromkeys(day_words(end, today) for end in (days[0], days[-1]))
    return " to ".join(ends) + (f", {never} never" if never else "")
