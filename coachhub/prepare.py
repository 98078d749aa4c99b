"""What has to be done before the web server may start; doing it again costs next to nothing."""

import hashlib
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command
from django.utils import timezone

from athletes.models import Account
from coachhub.demo.gym import ZONE
from coachhub.demo.seed import seed


def prepare_database() -> None:
    call_command("migrate", interactive=False, verbosity=0)


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


def _fingerprint() -> str:
    """A digest of every static file's name, size and time of change."""
    digest = hashlib.sha256(settings.STORAGES["staticfiles"]["BACKEND"].encode())
    for finder in get_finders():
        for name, storage in sorted(finder.list(ignore_patterns=None), key=lambda found: found[0]):
            facts = Path(storage.path(name)).stat()
            digest.update(f"{name} {facts.st_size} {facts.st_mtime_ns}\n".encode())
    return digest.hexdigest()
