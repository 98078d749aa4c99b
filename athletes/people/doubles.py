"""Athletes who may be one and the same, seen from their names."""

from collections.abc import Iterable

import numpy as np
from rapidfuzz import fuzz, process

from athletes.importing.sheets.names import ALIKE, Likeness, sorted_key
from athletes.models import Athlete

MOST_PAIRS = 50


def alike(name: str, board: str = "", leave_out: Iterable[int] = ()) -> list[Athlete]:
    """Who is here and may be meant by this name, or has this one on the board, the likest first, of equals who has been
    here for longer; two queries."""
    near = Likeness(_everyone()).find(name, board, leave_out)
    here = Athlete.objects.in_bulk(near)
    return [here[pk] for pk in near if pk in here]


def doubles() -> list[tuple[Athlete, Athlete]]:
    """Pairs who may be one, the likest first, and of each first who has been here for longer; two queries, however many
    athletes."""
    rows = sorted((sorted_key(name), pk) for pk, name, _ in _everyone())
    keys = [key for key, _ in rows]
    likeness = process.cdist(keys, keys, scorer=fuzz.ratio, score_cutoff=ALIKE, dtype=np.uint8)
    pairs = np.argwhere(np.triu(likeness, 1))
    pairs = sorted(pairs.tolist(), key=lambda pair: -int(likeness[pair[0], pair[1]]))[:MOST_PAIRS]
    here = Athlete.objects.in_bulk({rows[place][1] for pair in pairs for place in pair})
    ids = [sorted(rows[place][1] for place in pair) for pair in pairs]
    return [(here[first], here[second]) for first, second in ids]


def _everyone() -> list[tuple[int, str, str]]:
    return list(Athlete.objects.order_by().values_list("pk", "name", "board_name"))
