"""The whole gym in one file, from any database into any other.

A zip archive, version 1:

    manifest.json           format, version, when, method, the migrations its rows fit, and of every other member the
                            number of rows and the SHA-256 of its content
    rows/<app.model>.jsonl  a JSON object for each row, a row to a line, in the order of the ids
    boards/<name>           the published pages, named by their content

It holds everything the two apps keep, health and private notes too, and the accounts with the hashes of their
passwords, but no other secret: no API tokens, log-in sessions, passkeys or second steps (they are set up anew after
restoring), and no secret key (so personal links go on working only with the same SECRET_KEY). Files that were brought
in and are not kept yet are left out.
"""

import json
import os
import re
import tempfile
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from typing import IO

from django.apps import apps
from django.apps.registry import Apps
from django.db import connection, models
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from athletes.capacity.constants import METHOD_VERSION
from coachhub.archive_rows import row_as_json
from sessions.boards.stores import store

FORMAT, VERSION = "coachhub archive", 1
APPS = ("athletes", "training")
LEFT_OUT = {
    "athletes.Import",
    "athletes.ImportRemark",
    "athletes.ApiAnswer",
    "athletes.OpenCells",
    "athletes.SignIn",
    "athletes.Passkey",
}
BOARD = re.compile(r"^[0-9a-f]{2}/[0-9a-f]{40}\.(?:html|json|pdf)$")
TOGETHER = 2000
PIECE = 1 << 20


class CannotArchive(Exception):
    """Why not, and what to do, in words for whoever asked."""


def archived_models(registry: Apps = apps) -> list[type[models.Model]]:
    """Every table of the two apps, those between two others included; of an earlier version with its `registry`."""
    found = [m for app in APPS for m in registry.get_app_config(app).get_models(include_auto_created=True)]
    inside = [m for m in found if m._meta.label not in LEFT_OUT]
    return [m for m in inside if not _ties_to_another_app(m)]


def write_archive(path: Path) -> dict:
    """Write the archive, complete or not at all; its manifest. CannotArchive when another file stands there."""
    if path.exists() and not is_archive(path):
        raise CannotArchive(f"{path} is there already and is no archive of coachhub. Choose another name.")
    descriptor, draft = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(descriptor, "w+b") as file:
            manifest = _write(file)
            file.flush()
            os.fsync(file.fileno())
        os.replace(draft, path)
    except BaseException:
        Path(draft).unlink(missing_ok=True)
        raise
    return manifest


def is_archive(path: Path) -> bool:
    try:
        with zipfile.ZipFile(path) as archive:
            return json.loads(archive.read("manifest.json")).get("format") == FORMAT
    except (zipfile.BadZipFile, zlib.error, EOFError, KeyError, ValueError, OSError):
        return False


def migrations_applied() -> list[str]:
    applied = MigrationRecorder(connection).applied_migrations()
    return sorted(f"{app}.{name}" for app, name in applied if app in APPS)


@contextmanager
def one_view() -> Iterator[None]:
    """Let all reads see the database as it is at this moment, while others go on writing."""
    if connection.in_atomic_block:
        yield
        return
    sqlite = connection.vendor == "sqlite"
    with connection.cursor() as cursor:
        cursor.execute("BEGIN" if sqlite else "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
        try:
            yield
        finally:
            cursor.execute("ROLLBACK")


def _ties_to_another_app(model: type[models.Model]) -> bool:
    """Whether it is a table between an account and Django's own groups or permissions, of which there are none here."""
    ends = [field.related_model for field in model._meta.fields if field.related_model]
    return bool(model._meta.auto_created) and any(end._meta.app_label not in APPS for end in ends)


def _write(file: IO[bytes]) -> dict:
    members = {}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive, one_view():
        for model in archived_models():
            name = f"rows/{model._meta.label_lower}.jsonl"
            members[name] = _add(archive, name, _lines(model))
        for name in _boards():
            members[f"boards/{name}"] = _add(archive, f"boards/{name}", iter([store().get(name)]))
        manifest = {
            "format": FORMAT,
            "version": VERSION,
            "made_at": timezone.now().isoformat(timespec="seconds"),
            "method_version": METHOD_VERSION,
            "migrations": migrations_applied(),
            "members": members,
        }
        archive.writestr("manifest.json", json.dumps(manifest, indent=1))
    return manifest


def _add(archive: zipfile.ZipFile, name: str, pieces: Iterator[bytes]) -> dict:
    digest, count = sha256(), 0
    with archive.open(name, "w", force_zip64=True) as member:
        for piece in pieces:
            member.write(piece)
            digest.update(piece)
            count += 1
    return {"count": count, "sha256": digest.hexdigest()}


def _lines(model: type[models.Model]) -> Iterator[bytes]:
    fields = model._meta.concrete_fields
    rows = model._base_manager.order_by("pk").values_list(*(field.attname for field in fields))
    for row in rows.iterator(chunk_size=TOGETHER):
        yield row_as_json(fields, row)


def _boards() -> Iterator[str]:
    return (name for name, _ in store().all() if BOARD.match(name))
