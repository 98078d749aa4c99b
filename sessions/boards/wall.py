"""Everyone's doses for a session, line by line; off the clock the wall shows them as a board."""

from collections import defaultdict
from dataclasses import dataclass
from functools import partial

from django.template import engines

from athletes.words import dose_parts, name_order
from sessions.boards.phone import FIELDS
from sessions.circuits.definition import Option, Station
from sessions.models import Publication, PublishedSession, Target
from sessions.targets.detail import detail_of
from sessions.words.cards import Card, card_of, is_first_time

ROWS_A_COLUMN = 14  # as many as can be read from 5 m at 1080p
EXPECTED_FIGURES = 2  # as wide as so many doses, what a whole is expected to come to
FIGURES_ACROSS = 20  # doses side by side: four columns of names for five stations, two for eight


@dataclass(frozen=True)
class Line:
    """One athlete on the board."""

    athlete: int
    name: str
    cards: list[Card]
    walk_in: bool
    active: bool = True

    @property
    def expected(self) -> str:
        """Off the clock: what the whole comes to, 14:10–16:30."""
        return next((card.expected.removeprefix("expect ") for card in self.cards if card.expected), "")

    @property
    def first_time(self) -> bool:
        return is_first_time(self.cards)

    @property
    def first_rounds(self) -> int | None:
        """How many rounds they do of all, where that holds for every station."""
        rounds = {card.first_rounds for card in self.cards if card.dose}
        return rounds.pop() if len(rounds) == 1 else None


def board(session: PublishedSession, lines: list[Line]) -> str:
    """HTML of a session's stations, and of everyone's doses below. A long room gets several screens."""
    columns = [lines[start : start + ROWS_A_COLUMN] for start in range(0, len(lines), ROWS_A_COLUMN)]
    across = min(4, max(2, FIGURES_ACROSS // (len(session.definition.stations) + EXPECTED_FIGURES)))
    context = {
        "circuit": session.definition,
        "own_unit": partial(_own_unit, session.definition.stations),
        "swaps": partial(swaps_in_use, lines),
        "screens": [columns[start : start + across] for start in range(0, len(columns), across)],
    }
    return engines["boards"].env.get_template("wall_board.html").render(context)


def swaps_in_use(lines: list[Line], station: Station) -> list[tuple[int, Option]]:
    """The swaps of a station with their rungs: all that the coach wrote, and of the library's those somebody does."""
    used = {line.cards[station.position - 1].rung for line in lines}
    rungs = enumerate(station.options)
    return [(rung, option) for rung, option in rungs if rung and (not option.from_library or rung in used)]


def _own_unit(stations: tuple[Station, ...], card: Card) -> str:
    """The unit of a dose, or its load, where it is not the one that stands above the column; nobody lifts by that."""
    first = stations[card.number - 1].options[0]
    _, written = dose_parts(first.dose_kind, first.dose, first.load_kg)
    same = card.unit.removesuffix("s") == written.removesuffix("s")
    return "" if same or (card.rung > 0 and not card.unit.startswith("×")) else card.unit  # a swap's letter says it


def board_lines(publication: Publication, session: PublishedSession) -> list[Line]:
    """Everyone's cards for a session by board name; loads in kilograms, as on the plates. One query.

    Walk-ins come last, so that nobody else's place in a running class moves.
    """
    rows = Target.objects.filter(publication=publication, session=session).order_by("station")
    own = defaultdict(list)
    for row in rows.values_list("athlete__board_name", "athlete__active", *FIELDS, named=True):
        own[row.athlete_id].append(row)
    lines = [_line(session, rows) for rows in own.values()]
    return sorted(lines, key=lambda line: (line.walk_in, name_order(line.name)))


def _line(session: PublishedSession, rows: list) -> Line:
    cards = [card_of(session.definition, row, explained=False) for row in rows]
    walk_in = any(detail_of(row).walk_in for row in rows)
    return Line(rows[0].athlete_id, rows[0].athlete__board_name, cards, walk_in, rows[0].athlete__active)
