"""Names and headings as they are compared: without case, accents and punctuation."""

import re
from collections.abc import Iterable

from rapidfuzz import fuzz, process

from athletes.words import name_order

ALIKE = 90  # per cent of the letters from which two names may be one (ours)
MOST_ALIKE = 3

WORD = re.compile(r"\d+(?:[.,]\d+)?|[^\W\d_]+|[♀♂]")


def words(text: str) -> list[str]:
    """The words and numbers of a heading: “Most Pull-Ups, 2k” → most, pull, ups, 2, k."""
    return WORD.findall(name_order(text))


def words_key(text: str) -> str:
    """What two spellings of one heading, or of one name of a benchmark, share."""
    return " ".join(words(text))


def turned(name: str) -> str:
    """“Stone, Ada” → Ada Stone; any other name with single spaces."""
    parts = name.split(",")
    both = len(parts) == 2 and all(part.strip() for part in parts)
    return " ".join((f"{parts[1]} {parts[0]}" if both else name).split())


def name_key(name: str) -> str:
    """What two spellings of one name share: “Stone, Ada” and “ADA  STONE” are the same."""
    return " ".join(re.findall(r"\w+", name_order(turned(name))))


def sorted_key(name: str) -> str:
    """What two spellings of one name share, in whichever order its parts stand."""
    return " ".join(sorted(name_key(name).split()))


class Likeness:
    """People who are here, with their names on the board, to be found by names that may be theirs."""

    def __init__(self, people: Iterable[tuple[int, str, str]]):
        self._keys: dict[int, str] = {}
        self._spelled: dict[int, tuple[list[str], list[str]]] = {}  # parts of the name, and of that on the board
        self._called: dict[str, list[int]] = {}  # by the first part of either
        for pk, name, board in people:
            self._keys[pk] = sorted_key(name)
            self._spelled[pk] = name_key(name).split(), name_key(board).split()
            for first in {parts[0] for parts in self._spelled[pk] if parts}:
                self._called.setdefault(first, []).append(pk)

    def find(self, name: str, board: str = "", leave_out: Iterable[int] = ()) -> list[int]:
        """Who may be meant by a name, or has this one on the board; the likest first, of equals who came first."""
        key, parts, on_board = sorted_key(name), name_key(name).split(), name_key(board).split()
        near = {pk for _, _, pk in process.extract(key, self._keys, scorer=fuzz.ratio, score_cutoff=ALIKE, limit=None)}
        near |= {pk for pk in self._called.get(parts[0] if parts else "", ()) if self._shortened(parts, pk)}
        if on_board:
            near |= {pk for pk in self._called.get(on_board[0], ()) if self._spelled[pk][1] == on_board}
        return sorted(near - set(leave_out), key=lambda pk: (-fuzz.ratio(key, self._keys[pk]), pk))[:MOST_ALIKE]

    def _shortened(self, parts: list[str], pk: int) -> bool:
        """Whether one is the other with the last name left out or cut: “Liam” and “Liam F.” for Liam Farnworth."""
        last, own = parts[1:], self._spelled[pk][0][1:]
        cut = (one for one in last if one.isalpha())
        return not last or not own or any(a.startswith(b) or b.startswith(a) for a in cut for b in own)
