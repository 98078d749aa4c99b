"""Pages that no row names any more: every redrawn page leaves one behind."""

import time
from collections.abc import Iterable

from sessions.boards import paper
from sessions.boards.stores import store
from sessions.models import PersonalPage, Publication

SETTLED_S = 3_600  # a younger file may belong to a week that is just being published


def remove_unused(names: Iterable[str] = (), settled: float | None = None) -> int:
    """Remove `names`, and whatever else was written before `settled` (in seconds of the epoch; else `SETTLED_S` ago),
    unless a row names it; the number removed.

    One file may be shared, because equal pages are one file.
    """
    names = set(names)
    settled = time.time() - SETTLED_S if settled is None else settled
    used, kept = _used(), store()
    gone = [name for name, put_at in kept.all() if name not in used and (name in names or put_at < settled)]
    for name in gone:
        kept.remove(name)
    return len(gone)


def _used() -> set[str]:
    used = set(PersonalPage.objects.values_list("path", flat=True))
    for size in paper.SIZES:
        used |= set(Publication.objects.values_list(f"paper_{size}", flat=True))
    return used
