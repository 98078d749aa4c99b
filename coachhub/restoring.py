"""An archive back into an empty installation: looked over as a whole first, then put in completely or not at all."""

import json
import re
import zipfile
import zlib
from collections.abc import Iterator
from hashlib import sha256
from itertools import islice
from pathlib import Path

from django.db import IntegrityError, connection, models, transaction
from django.db.migrations.loader import MigrationLoader

from coachhub.archive import APPS, BOARD, FORMAT, PIECE, TOGETHER, VERSION, CannotArchive, archived_models
from coachhub.archive_rows import insert, reset_sequences
from sessions.boards.stores import store

ROWS = re.compile(rf"^(?:{'|'.join(APPS)})\.\w+\.jsonl$")
BROKEN = (zipfile.BadZipFile, zlib.error, EOFError)
DAMAGED = "The archive is damaged: {}. Take another copy of it."
NOT_EMPTY = (
    "This installation is in use already ({}), and an archive only goes into an empty one. Give it its own folder: "
    "DATA_DIR=/srv/coachhub-new python3 manage.py restore FILE"
)
NEWER = "The archive was made by a newer coachhub. Bring this one up to date first, then restore."


def restore_archive(path: Path) -> dict:
    """Put everything in the archive where it was; its manifest. CannotArchive, with what to do, and nothing changed."""
    written: list[str] = []
    try:
        with zipfile.ZipFile(path) as archive, transaction.atomic():
            refuse_unless_empty()
            manifest = verified(archive)
            fill(archive, manifest, archived_models(), written)
    except BaseException as error:
        for board in written:
            store().remove(board)
        if isinstance(error, BROKEN):
            raise CannotArchive(DAMAGED.format("it is no complete zip file")) from None
        if isinstance(error, OSError) and not written:
            raise CannotArchive(f"{path} cannot be read: {error.strerror}.") from None
        raise
    return manifest


def fill(archive: zipfile.ZipFile, manifest: dict, tables: list[type[models.Model]], written: list[str]) -> None:
    """Put rows and pages where they were; `written` are the pages so far, whatever happens."""
    known = {_member(model) for model in tables}
    for name in manifest["members"]:
        if name.startswith("rows/") and name not in known:
            raise CannotArchive(DAMAGED.format(f"{name} does not belong into it"))
    try:
        _rows(archive, manifest, tables)
    except (ValueError, IntegrityError) as error:
        raise CannotArchive(f"The archive does not fit this coachhub: {error}") from error
    for name in manifest["members"]:
        if name.startswith("boards/"):
            _board(archive, name, written)


def refuse_unless_empty() -> None:
    for model in archived_models():
        if count := model._base_manager.count():
            name = model._meta.verbose_name if count == 1 else model._meta.verbose_name_plural
            raise CannotArchive(NOT_EMPTY.format(f"{count} {name}"))


def verified(archive: zipfile.ZipFile) -> dict:
    """The manifest, once every member is there and is what it was. Which tables belong into it the version says that
    wrote it (`fill`): later ones may have dropped some."""
    try:
        manifest = json.loads(archive.read("manifest.json"))
        fits = manifest["format"] == FORMAT
        members, names = manifest["members"], [name for name in archive.namelist() if name != "manifest.json"]
    except (KeyError, TypeError, ValueError):
        raise CannotArchive("This is no archive of coachhub. Give the file that `backup` wrote.") from None
    if not fits:
        raise CannotArchive("This is no archive of coachhub. Give the file that `backup` wrote.")
    if manifest["version"] > VERSION or not set(manifest["migrations"]) <= _known_migrations():
        raise CannotArchive(NEWER)
    if sorted(members) != sorted(names):
        raise CannotArchive(DAMAGED.format("its list of contents does not fit"))
    for name, facts in members.items():
        if not _is_known(name):
            raise CannotArchive(DAMAGED.format(f"{name} does not belong into it"))
        if _digest(archive, name) != facts["sha256"]:
            raise CannotArchive(DAMAGED.format(f"{name} is not what it was"))
    return manifest


def _rows(archive: zipfile.ZipFile, manifest: dict, tables: list[type[models.Model]]) -> None:
    for model in tables:
        name = _member(model)
        if name not in manifest["members"]:  # a table that is younger than the archive
            continue
        lines, count = _lines(archive, name), 0
        while batch := [json.loads(line) for line in islice(lines, TOGETHER)]:
            insert(model, batch)
            count += len(batch)
        if count != manifest["members"][name]["count"]:
            raise CannotArchive(DAMAGED.format(f"{name} has {count} rows"))
    connection.check_constraints()
    reset_sequences(tables)


def _board(archive: zipfile.ZipFile, name: str, written: list[str]) -> None:
    """A published page, whose name is the beginning of its own digest."""
    page = name.removeprefix("boards/")
    if store().has(page):
        return
    content = archive.read(name)
    if not sha256(content).hexdigest().startswith(Path(page).stem):
        raise CannotArchive(DAMAGED.format(f"{name} is not what its name says"))
    store().put(page, content)
    written.append(page)


def _member(model: type[models.Model]) -> str:
    return f"rows/{model._meta.label_lower}.jsonl"


def _is_known(name: str) -> bool:
    folder, _, member = name.partition("/")
    pattern = {"rows": ROWS, "boards": BOARD}.get(folder)
    return bool(pattern and pattern.match(member))


def _known_migrations() -> set[str]:
    found = MigrationLoader(None).disk_migrations
    return {f"{app}.{name}" for app, name in found if app in APPS}


def _digest(archive: zipfile.ZipFile, name: str) -> str:
    digest = sha256()
    with archive.open(name) as member:
        while piece := member.read(PIECE):
            digest.update(piece)
    return digest.hexdigest()


def _lines(archive: zipfile.ZipFile, name: str) -> Iterator[bytes]:
    with archive.open(name) as member:
        yield from member
