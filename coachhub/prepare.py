"""What has to be done before the web server may start; doing it again costs next to nothing."""

import hashlib
import shutil
import time
from collections.abc import Callable
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command
from django.db.models import Exists, OuterRef
from django.utils import timezone

from athletes.capacity.constants import METHOD_VERSION
from athletes.estimates.gym_priors import gym_priors_refresh
from athletes.estimates.write import estimates_refresh
from athletes.models import Account, Athlete, Effort, Estimate
from coachhub import backups
from coachhub.demo.gym import ZONE
from coachhub.demo.seed import seed

RESTORING = ".restore-"  # folders of a restore, which have the whole gym in plain text
RESTORED_WITHIN_S = 86_400


def prepare_database(say: Callable[[str], object] = print) -> None:
    _clear_restoring()
    backups.clear_up()
    call_command("migrate", interactive=False, verbosity=0, skip_checks=False)
    prepare_estimates(say)


def prepare_estimates(say: Callable[[str], object] = print) -> bool:
    """Work estimates out anew where an earlier method made them, or none were made; whether it was done.

    What is published before the nightly job would rest on them.
    """
    if not _estimates_are_behind():
        return False
    say("Working out everybody's estimates anew, as this version reads results in another way; a minute or two …")
    gym_priors_refresh()
    estimates_refresh()
    return True


def _clear_restoring() -> None:
    """Remove what a restore left behind that was killed."""
    for folder in Path(settings.DATA_DIR).glob(f"{RESTORING}*"):
        if folder.stat().st_mtime < time.time() - RESTORED_WITHIN_S:
            shutil.rmtree(folder, ignore_errors=True)


def prepare_static_files() -> bool:
    """Collect static files when one of them changed since the last time; whether it was done."""
    wanted, stamp = _fingerprint(), Path(settings.STATIC_ROOT) / "collected-from"
    if stamp.exists() and stamp.read_text() == wanted:
        return False
    call_command("collectstatic", interactive=False, verbosity=0)
    stamp.write_text(wanted)
    return True


def seed_demo() -> None:
    seed(timezone.localdate(timezone=ZONE))


def has_owner() -> bool:
    return Account.objects.filter(role=Account.Role.OWNER, is_active=True).exists()


def _estimates_are_behind() -> bool:
    active = Athlete.objects.filter(active=True)
    if not active.exists():
        return False
    own = Estimate.objects.filter(athlete=OuterRef("athlete"))
    tested = Effort.objects.standing().filter(athlete__active=True)
    old = Estimate.objects.exclude(method_version=METHOD_VERSION)
    return old.exists() or tested.filter(~Exists(own)).exists()


def _fingerprint() -> str:
    """A digest of every static file's name, size and time of change."""
    digest = hashlib.sha256(settings.STORAGES["staticfiles"]["BACKEND"].encode())
    for finder in get_finders():
        for name, storage in sorted(finder.list(ignore_patterns=None), key=lambda found: found[0]):
            facts = Path(storage.path(name)).stat()
            digest.update(f"{name} {facts.st_size} {facts.st_mtime_ns}\n".encode())
    return digest.hexdigest()
