"""From each released version to this one, from what that version itself wrote (upgrades/, four invented athletes).

A database is brought up to date where it lies; an archive is restored into an empty installation (0.1 made none). The
oldest of both are tried in every run, the others too where EVERY_UPGRADE is set.
"""

import gzip
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

pytestmark = pytest.mark.services

EVERY = bool(os.environ.get("EVERY_UPGRADE"))
UPGRADES = Path(__file__).with_name("upgrades")
FOUND = """
import json
from athletes.models import Account, Athlete, Effort, Estimate, Link
from sessions.models import Log, Publication, Target
print(json.dumps([
    Athlete.objects.count(), Effort.objects.count(), Target.objects.count(),
    Publication.objects.get().state, Link.objects.filter(kind="athlete", only_device="").count(),
    Account.objects.get(username="coach").check_password("an old long password"),
    Estimate.objects.filter(engine="row").count(),
]))
"""


def manage(folder: Path, *arguments: str) -> subprocess.CompletedProcess:
    left_out = ("DATABASE_URL", "REDIS_URL", "DJANGO_SETTINGS_MODULE")
    environment = {name: value for name, value in os.environ.items() if name not in left_out}
    environment |= {"DATA_DIR": str(folder), "COACHHUB_SYSTEM_PYTHON": "1", "SECRET_KEY": "fixture"}
    command = [sys.executable, "manage.py", *arguments]
    return subprocess.run(command, cwd=settings.BASE_DIR, env=environment, capture_output=True, text=True)


def everything_is_there(folder: Path) -> None:
    found = manage(folder, "shell", "--no-imports", "-c", FOUND)
    assert json.loads(found.stdout.splitlines()[-1]) == [4, 8, 12, "live", 4, True, 4], found.stderr


@pytest.mark.parametrize("version", ["0.2", "0.3", "0.4"] if EVERY else ["0.2"])
def test_a_database_is_brought_up_to_date_where_it_lies(version, tmp_path):
    (tmp_path / "coachhub.sqlite3").write_bytes(gzip.decompress((UPGRADES / f"{version}.sqlite3.gz").read_bytes()))
    done = manage(tmp_path, "prepare")
    assert done.returncode == 0, done.stderr
    everything_is_there(tmp_path)


@pytest.mark.parametrize("version", ["0.2", "0.3", "0.4"] if EVERY else ["0.2"])
def test_an_archive_comes_back_into_this_version(version, tmp_path):
    done = manage(tmp_path, "restore", str(UPGRADES / f"{version}.zip"))
    assert done.returncode == 0, done.stderr
    everything_is_there(tmp_path)
