"""A back-up every night: an archive, encrypted before it is kept, read back to prove it, and the old ones let go.

The format is age (age-encryption.org/v1, X25519): BACKUP_KEY is the public half, so that a machine that is broken into
gives up no back-up of the past. The private half opens them, with `restore --key` or with any program for age; it
belongs on paper or on another machine. Each archive is read back whole before it is sealed; that the sealed file opens
is shown by `python3 manage.py restore FILE --key KEYFILE --check`, which belongs into a calendar.
"""

import fcntl
import logging
import os
import re
import shutil
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pyrage
from django.conf import settings
from django.utils import timezone

from coachhub.archive import CannotArchive, write_archive
from coachhub.restoring import verified

logger = logging.getLogger(__name__)

NAME = re.compile(r"^gym-(\d{4}-\d{2}-\d{2}-\d{6})\.zip\.age$")
DAYS, MONTHS = 14, 12  # every one of the last days, and the first of each of the last months
UNSEALED = ".backup-"  # folders that hold the whole gym in plain text until it is sealed
LONG = 62
KEY = re.compile(rf"age1[0-9a-z]{{{LONG - 4}}}\Z")


@dataclass(frozen=True)
class Backup:
    path: Path
    made_at: datetime


def new_key() -> tuple[str, str]:
    """A fresh pair: what to set as BACKUP_KEY, and what opens the back-ups."""
    identity = pyrage.x25519.Identity.generate()
    return str(identity.to_public()), str(identity)


def wrong_with_key() -> str:
    """What is wrong with BACKUP_KEY, and what to do; empty where nothing is."""
    said = settings.BACKUP_KEY
    if said.upper().startswith("AGE-SECRET-KEY-"):
        return "BACKUP_KEY is the secret half, which belongs on paper. Set the public one: it begins with age1."
    if not said.startswith("age1"):
        return "BACKUP_KEY is no public key of age: it begins with age1. python3 manage.py backup_key makes one."
    if not KEY.match(said):
        return f"BACKUP_KEY is not {LONG} small letters and digits, as a public key of age is. Copy it once more."
    try:
        pyrage.x25519.Recipient.from_str(said)
    except Exception:  # the library names no error of its own
        return "BACKUP_KEY has a letter that was mistyped: its check does not fit. Copy it once more."
    return ""


def folder() -> Path:
    return Path(settings.BACKUP_DIR)


def kept() -> list[Backup]:
    """All that are there, the newest first."""
    names = [(path, match) for path in folder().glob("gym-*") if (match := NAME.match(path.name))]
    moments = [(path, datetime.strptime(match[1], "%Y-%m-%d-%H%M%S").replace(tzinfo=UTC)) for path, match in names]
    return sorted((Backup(path, moment) for path, moment in moments), key=lambda b: b.made_at, reverse=True)


def newest() -> Backup | None:
    return next(iter(kept()), None)


def make() -> Path:
    """Write tonight's back-up, complete or not at all. CannotArchive without a key."""
    if words := wrong_with_key():
        raise CannotArchive(words)
    folder().mkdir(parents=True, exist_ok=True, mode=0o700)
    clear_up()
    for draft in folder().glob(".draft-*"):  # of a worker that died
        draft.unlink(missing_ok=True)
    name = f"gym-{timezone.now():%Y-%m-%d-%H%M%S}.zip.age"
    with TemporaryDirectory(dir=settings.DATA_DIR, prefix=UNSEALED) as inside, _held(Path(inside)):
        plain, draft = Path(inside) / "gym.zip", folder() / f".draft-{name}"
        write_archive(plain)
        with zipfile.ZipFile(plain) as archive:
            verified(archive)  # every member against its digest, before it is sealed
        pyrage.encrypt_file(str(plain), str(draft), [pyrage.x25519.Recipient.from_str(settings.BACKUP_KEY)])
        with draft.open("rb") as file:
            os.fsync(file.fileno())
        draft.chmod(0o600)
        draft.rename(folder() / name)
    _let_go()
    return folder() / name


def clear_up() -> None:
    """Remove the gym in plain text where back-ups left it that were cut off."""
    for inside in Path(settings.DATA_DIR).glob(f"{UNSEALED}*"):
        with suppress(OSError), _held(inside):  # not while another back-up is at it
            shutil.rmtree(inside, ignore_errors=True)


@contextmanager
def _held(inside: Path) -> Iterator[None]:
    """Hold a folder as long as this process is at it; OSError where another one does."""
    held = os.open(inside, os.O_RDONLY)
    try:
        fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield
    finally:
        os.close(held)


def open_sealed(path: Path, key: str, target: Path) -> None:
    """Decrypt a back-up. CannotArchive, in words, for another key and for a damaged file."""
    try:
        pyrage.decrypt_file(str(path), str(target), [pyrage.x25519.Identity.from_str(key.strip())])
    except (pyrage.IdentityError, pyrage.DecryptError, OSError) as error:
        raise CannotArchive(f"{path} does not open with this key, or is damaged ({error}).") from None


def _let_go() -> None:
    """Remove what is older than the last days, but for the first of each of the last months."""
    found = kept()
    recent = timezone.now() - timedelta(days=DAYS)
    firsts: dict[tuple[int, int], Backup] = {}
    for backup in reversed(found):
        firsts.setdefault((backup.made_at.year, backup.made_at.month), backup)
    monthly = set(sorted(firsts.values(), key=lambda b: b.made_at, reverse=True)[:MONTHS])
    for backup in found[1:]:
        if backup.made_at < recent and backup not in monthly:
            backup.path.unlink(missing_ok=True)
