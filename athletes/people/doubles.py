"""Athletes who may be one and the same, seen from their names."""

from collections.abc import Iterable

import numpy as np
from rapidfuzz import fuzz, process

from athletes.importing.sheets.names import name_key
from athletes.models import Athlete

ALIKE = 90  # per cent of the letters from which two names may be one (ours)
MOST_ALIKE, MOST_PAIRS = 3, 50


def alike(name: str, board: str = "", leave_out: Iterable[int] = ()) -> list[Athlete]:
    """Who is here under nearly this name or under this name on the board, the likest first, of equals who has been here
    for longer; two queries."""
    out = set(leave_out)
    names = {pk: (key_of(full), name_key(board)) for pk, full, board in _everyone() if pk not in out}
    key, on_board = key_of(name), name_key(board)
    likeness = {pk: fuzz.ratio(key, own) for pk, (own, _) in names.items()}
    near = [pk for pk in likeness if likeness[pk] >= ALIKE or (on_board and on_board == names[pk][1])]
    near = sorted(near, key=lambda pk: (-likeness[pk], pk))[:MOST_ALIKE]
    here = Athlete.objects.in_bulk(near)
    return [here[pk] for pk in near if pk in here]


def doubles() -> list[tuple[Athlete, Athlete]]:
    """Pairs who may be one, the likest first, and of each first who has been here for longer; two queries, however many
    athletes."""
    rows = sorted((key_of(name), pk) for pk, name, _ in _everyone())
    keys = [key for key, _ in rows]
    likeness = process.cdist(keys, keys, scorer=fuzz.ratio, score_cutoff=ALIKE, dtype=np.uint8)
    pairs = np.argwhere(np.triu(likeness, 1))
    pairs = sorted(pairs.tolist(), key=lambda pair: -int(likeness[pair[0], pair[1]]))[:MOST_PAIRS]
    here = Athlete.objects.in_bulk({rows[place][1] for pair in pairs for place in pair})
    ids = [sorted(rows[place][1] for place in pair) for pair in pairs]
    return [(here[first], here[second]) for first, second in ids]


def key_of(name: str) -> str:
    """What two spellings of one name share, in whichever order its parts stand."""
    return " ".join(sorted(name_key(name).split()))


def _everyone() -> list[tuple[int, str, str]]:
    return list(Athlete.objects.order_by().values_list("pk", "name", "board_name"))
