"""An archive of an earlier version, written anew for this one.

Its rows fit the tables of the version that wrote it. So they go into a database of their own that has those tables, in
another process, and that database is then brought up to date by the migrations that bring any gym up to date.
"""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import connection, transaction
from django.db.migrations.executor import MigrationExecutor

from coachhub.archive import CannotArchive, archived_models, migrations_applied, write_archive
from coachhub.restoring import BROKEN, fill, verified


def up_to_date(path: Path, folder: Path) -> Path:
    """The archive itself where this version wrote it, else the same gym as this version writes it, in `folder`.

    This database must be up to date. CannotArchive for what is no archive of this or an earlier version.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            manifest = verified(archive)
    except (OSError, *BROKEN):  # of which restoring says what is wrong
        return path
    if manifest["migrations"] == migrations_applied():
        return path
    new = folder / "up-to-date.zip"
    alone = {"DATA_DIR": str(folder), "DATABASE_URL": f"sqlite:///{folder}/older.sqlite3"}
    alone |= {"REDIS_URL": "", "BOARDS_URL": "", "DJANGO_SETTINGS_MODULE": "coachhub.settings"}
    command = [sys.executable, "-m", "django", "rewrite_archive", str(path), str(new)]
    done = subprocess.run(command, cwd=settings.BASE_DIR, env=os.environ | alone, capture_output=True, text=True)
    if done.returncode:
        said = done.stderr.strip().splitlines() or [f"it was stopped ({done.returncode})."]
        reason = said[-1].removeprefix("CommandError: ")
        raise CannotArchive(f"The archive could not be brought up to date: {reason}")
    return new


def rewrite(path: Path, new: Path) -> None:
    """Write the archive `path` as this version does. The database of this process has to be an empty one of its own."""
    with zipfile.ZipFile(path) as archive:
        manifest = verified(archive)
        executor = MigrationExecutor(connection)
        last = _last(executor, manifest["migrations"])
        executor.migrate(last)
        with transaction.atomic():
            fill(archive, manifest, archived_models(executor.loader.project_state(last).apps), [])
    call_command("migrate", interactive=False, verbosity=0)
    write_archive(new)


def _last(executor: MigrationExecutor, applied: list[str]) -> list[tuple[str, str]]:
    """Those of the migrations after which none of the others comes."""
    keys = {tuple(name.split(".", 1)) for name in applied}
    nodes = executor.loader.graph.node_map
    return sorted(key for key in keys if not any(child.key in keys for child in nodes[key].children))
