"""Pages on disk that no row names any more: every redrawn page leaves one behind."""

import time
from collections.abc import Iterable
from pathlib import Path

from django.conf import settings

from sessions.boards import paper
from sessions.models import PersonalPage, Publication, PublishedSession

SETTLED_S = 3_600  # a younger file may belong to a week that is just being published


def remove_unused(names: Iterable[str] = (), settled: float | None = None) -> int:
    """Remove `names`, and whatever else was written before `settled` (in seconds of the epoch; else `SETTLED_S` ago),
    unless a row names it; the number removed.

    One file may be shared, because equal pages are one file.
    """
    root, names = Path(settings.MEDIA_ROOT), set(names)
    settled = time.time() - SETTLED_S if settled is None else settled
    used, removed = _used(), 0
    for path in root.glob("*/*"):
        name = path.relative_to(root).as_posix()
        if name not in used and (name in names or path.stat().st_mtime < settled):
            path.unlink(missing_ok=True)
            removed += 1
    return removed


def _used() -> set[str]:
    used = set(PersonalPage.objects.values_list("path", flat=True))
    used |= set(PublishedSession.objects.values_list("wall_page", flat=True))
    for size in paper.SIZES:
        used |= set(Publication.objects.values_list(f"paper_{size}", flat=True))
    return used
