"""Archives that an owner has asked for, in the data folder: one at a time, and the last few are kept.

A file `asked` stands there from the click until the worker is done. One that is older than an hour belongs to a worker
that died, and no longer counts.
"""

import logging
import re
import time
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings
from django.utils import timezone

from athletes.sending import send
from coachhub.archive import write_archive

logger = logging.getLogger(__name__)

TASK = "coachhub.make_archive"
NAME = re.compile(r"^gym-\d{4}-\d{2}-\d{2}-\d{6}\.zip$")
KEPT = 3
GIVEN_UP_S = 3600
DRAFTS = ".gym-*.zip.*"  # what a worker leaves that dies while it writes


class NotAsked(Exception):
    """No worker could be asked for an archive."""


@dataclass(frozen=True)
class Shelved:
    """An archive that can be downloaded."""

    name: str
    made_at: datetime
    size: int


def shelved() -> list[Shelved]:
    """The archives that are there, the newest first."""
    return [_shelved(path) for path in sorted(_archives(), reverse=True)]


def being_made() -> bool:
    with suppress(OSError):
        return time.time() - _asked().stat().st_mtime < GIVEN_UP_S
    return False


def ask() -> None:
    """Have an archive made, unless one is being made already."""
    if being_made():
        return
    _folder().mkdir(parents=True, exist_ok=True, mode=0o700)
    _asked().touch()
    if not send(TASK):
        _asked().unlink(missing_ok=True)
        raise NotAsked


def make() -> None:
    """Make the archive that was asked for; nothing happens when it is there already."""
    if not _asked().exists():
        logger.info("no archive is asked for any more; skipping")
        return
    for draft in _folder().glob(DRAFTS):
        draft.unlink(missing_ok=True)
    try:
        write_archive(_folder() / f"gym-{timezone.now():%Y-%m-%d-%H%M%S}.zip")
        for path in sorted(_archives(), reverse=True)[KEPT:]:
            path.unlink(missing_ok=True)
    finally:
        _asked().unlink(missing_ok=True)


def path_of(name: str) -> Path | None:
    """Where an archive of that name lies; None when there is none."""
    path = _folder() / name
    return path if NAME.match(name) and path.is_file() else None


def _folder() -> Path:
    return Path(settings.DATA_DIR) / "archives"


def _asked() -> Path:
    return _folder() / "asked"


def _archives() -> Iterator[Path]:
    return (path for path in _folder().glob("gym-*.zip") if NAME.match(path.name))


def _shelved(path: Path) -> Shelved:
    facts = path.stat()
    return Shelved(path.name, datetime.fromtimestamp(facts.st_mtime, UTC), facts.st_size)
