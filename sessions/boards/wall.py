"""Everyone's doses for a session, line by line; off the clock the wall shows them as a board."""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from math import ceil

from django.template import engines

from athletes.words import dose_parts, name_order
from sessions.boards.phone import FIELDS
from sessions.circuits.definition import Option, Station
from sessions.models import Publication, PublishedSession, Target
from sessions.targets.detail import detail_of
from sessions.words.cards import Card, card_of, is_first_time

# Of a screen whose height is 100: what is left to the lines, and the least of their letters, which are read from 4 m.
ROOM_WIDE, ROOM_HIGH, LEAST_TYPE = 172.0, 56.0, 3.2
MOST_COLUMNS = 4
# In heights of the letters: a line with its rule, the head above the lines, a letter, one of a unit, a gap.
LINE, HEAD, LETTER, SMALL, GAP = 1.25, 1.6, 0.47, 0.32, 0.9


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
    """HTML of a session's stations, and of everyone's doses below, in letters as large as fit. A long room gets several
    screens.
    """
    own_unit = partial(_own_unit, session.definition.stations)
    width = _width(lines, own_unit)
    columns, rows = _columns(len(lines), width)
    parts = [lines[start : start + rows] for start in range(0, len(lines), rows)]
    context = {
        "circuit": session.definition,
        "own_unit": own_unit,
        "swaps": partial(swaps_in_use, lines),
        "screens": [parts[start : start + columns] for start in range(0, len(parts), columns)],
        "across": min(columns, len(parts)),
        "line_width": round(width, 2),
        "lines_high": round(rows * LINE + HEAD, 2),
    }
    return engines["boards"].env.get_template("wall_board.html").render(context)


def _columns(lines: int, width: float) -> tuple[int, int]:
    """How many columns of how many lines have the largest letters; on as few screens as leave them readable."""
    least, screens = min(LEAST_TYPE, ROOM_WIDE / width), 1
    while True:
        shown = ceil(max(lines, 1) / screens)
        fits = [
            (min(ROOM_HIGH / (ceil(shown / columns) * LINE + HEAD), ROOM_WIDE / columns / width), columns)
            for columns in range(1, min(MOST_COLUMNS, shown) + 1)
        ]
        size, columns = max(fits)
        if size >= least:
            return columns, ceil(shown / columns)
        screens += 1


def _width(lines: list[Line], own_unit: Callable[[Card], str]) -> float:
    """About how wide the widest line is, in heights of its letters."""
    name = max((LETTER * len(line.name) + SMALL * 9 * bool(line.first_rounds) for line in lines), default=0.0)
    expected = max((LETTER * len(line.expected) for line in lines), default=0.0)
    doses = [[_dose_width(card, line, own_unit) + GAP for card in line.cards] for line in lines]
    return name + expected + GAP + sum(map(max, zip(*doses, strict=True)))


def _dose_width(card: Card, line: Line, own_unit: Callable[[Card], str]) -> float:
    if not card.dose or line.first_time:
        return SMALL * 7  # by feel
    rounds = f"{card.first_rounds} rounds" if card.first_rounds and not line.first_rounds else ""
    return LETTER * len(card.dose) + SMALL * (len(own_unit(card)) + len(rounds))


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
