"""What whoever hosts coachhub got wrong, each with what to do about it. Looks only, and changes nothing."""

import os
import shutil
import stat
import tempfile
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib.auth.hashers import check_password
from django.core.checks import run_checks
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from athletes.accounts.second import asks_for_second
from athletes.gym.read import gym
from athletes.models import Account
from coachhub import backups
from coachhub.alive import answers
from coachhub.celery import app as celery
from coachhub.health import LEAST_FREE
from sessions.boards.stores import store
from sessions.weeks.published import publishing_waits

PING_S = 3
HERE = ("localhost", "127.0.0.1", "::1")


def findings() -> Iterator[tuple[bool, str]]:
    """(whether it is well, a sentence) for each thing that was looked at."""
    yield from _address()
    yield from _processes()
    yield from _folder()
    answers_now = yield from _database()
    if answers_now:
        yield from _accounts()
        yield from _worker()
    yield from _boards()
    yield from _back_ups()
    databases = ["default"] if answers_now else None
    for message in run_checks(include_deployment_checks=settings.HTTPS, databases=databases):
        if not message.is_silenced():
            yield False, f"{message.msg} {message.hint or ''}".strip()


def _address() -> Iterator[tuple[bool, str]]:
    said, parts = settings.SITE_URL, urlsplit(settings.SITE_URL)
    host = parts.hostname or ""
    if not said.startswith(("http://", "https://")) or not host:
        yield False, f"SITE_URL is {said}: write the whole address that people type, with https:// in front."
        return
    if parts.path or parts.query or parts.fragment:
        yield False, f"SITE_URL is {said}: links need a name of its own, like {parts.scheme}://{parts.netloc}."
    if host in HERE:
        yield False, f"SITE_URL is {settings.SITE_URL}: only this machine gets in. Set it to the address people type."
    elif not settings.HTTPS:
        words = (
            "is not https: phones neither install the app nor open it offline, and others in the wifi can read along."
        )
        yield False, f"SITE_URL {words} Put a proxy with a certificate in front."
    else:
        yield True, f"People come by {settings.SITE_URL}."
    if settings.HTTPS and not settings.PROXIES:
        yield False, "BEHIND_PROXY is false, but nothing else can speak https for coachhub. Name the proxy's address."
    if "*" in settings.ALLOWED_HOSTS:
        yield False, "ALLOWED_HOSTS lets in any name. Leave it out: SITE_URL names the one that is needed."
    if settings.DEBUG:
        yield False, "DEBUG is true: errors show the inside of the program to everyone. Leave it out."
    if settings.DEMO_OPEN:
        yield False, "DEMO_OPEN is true: everyone knows the demo's password. Leave it out for a real gym."


def _processes() -> Iterator[tuple[bool, str]]:
    said = os.environ.get("WEB_WORKERS") or "2"
    if not (said.isascii() and said.isdigit() and int(said)):
        yield False, f"WEB_WORKERS is {said}: it has to be a whole number from 1. The web server does not start."


def _folder() -> Iterator[tuple[bool, str]]:
    folder = Path(settings.DATA_DIR)
    try:
        with tempfile.TemporaryFile(dir=folder) as file:
            file.write(b"x")
    except OSError as error:
        yield False, f"{folder} cannot be written to: {error.strerror}. Give it to the user that coachhub runs as."
    free = shutil.disk_usage(folder).free
    yield free > LEAST_FREE, f"{free / 1e9:.1f} GB are free for {folder}."
    key = folder / "secret_key"
    if key.exists() and stat.S_IMODE(key.stat().st_mode) & 0o077:
        yield False, f"Others on this machine can read {key}: chmod 600 {key}"
    if len(settings.SECRET_KEY) < 32:
        yield False, "SECRET_KEY is shorter than 32 characters: links could be guessed. openssl rand -hex 32 makes one."


def _database():
    try:
        behind = MigrationExecutor(connection).migration_plan(MigrationExecutor(connection).loader.graph.leaf_nodes())
    except DatabaseError as error:
        yield False, f"The database cannot be reached: {str(error).strip().splitlines()[0]}. Look at DATABASE_URL."
        return False
    if behind:
        yield False, f"The database is {len(behind)} steps behind this version: python3 manage.py prepare"
        return False
    yield True, f"The database ({connection.vendor}) answers and is up to date."
    return True


def _accounts() -> Iterator[tuple[bool, str]]:
    active = list(Account.objects.filter(is_active=True))
    if not any(account.role == Account.Role.OWNER for account in active):
        yield False, "There is no owner: python3 manage.py owner NAME"
    demo = [
        a.username for a in active if a.has_usable_password() and check_password(settings.DEMO_PASSWORD, a.password)
    ]
    if demo:
        yield False, f"The demo's password stands for {', '.join(demo)}. Begin a real gym with an empty data folder."
    alone = [a.username for a in active if a.role != Account.Role.STAFF and not asks_for_second(a)]
    yield (
        not alone,
        f"A password alone opens {', '.join(alone)}." if alone else "Coaches and owners have a second step.",
    )
    reachable = settings.BEHIND_PROXY or urlsplit(settings.SITE_URL).hostname not in HERE
    if reachable and not gym().second_step:
        yield False, "No second step is asked for: others reach this. An owner can ask for it under Gym, Accounts."


def _worker() -> Iterator[tuple[bool, str]]:
    try:
        with celery.connection_for_read() as broker:
            broker.ensure_connection(max_retries=1, timeout=3)
            aside, where = broker.default_channel.aside()
        if aside:
            count = "1 message" if aside == 1 else f"{aside} messages"
            yield False, f"{count} could not be read, or came from another version. Look at {where}, then empty it."
        if celery.control.ping(timeout=PING_S):
            yield True, "A worker answers."
        else:
            yield (
                False,
                f"No worker answers within {PING_S} s: start one, or first end the one that is stuck.",
            )
    except Exception as error:  # whatever the transport raises
        yield False, f"The queue cannot be reached: {error}. Look at REDIS_URL."
    late = publishing_waits()
    yield not late, "Publishing waits for a worker: is one running?" if late else "No publishing waits for a worker."
    port = os.environ.get("PORT", "8000")
    if not answers(f"http://127.0.0.1:{port}"):
        yield False, f"No web server answers on port {port} of this machine (PORT names another)."


def _boards() -> Iterator[tuple[bool, str]]:
    if not settings.BOARDS_URL:
        return
    try:
        next(store().all(), None)
    except Exception as error:  # whatever the library raises
        words = f"BOARDS_URL, {settings.BOARDS_URL}, cannot be reached: {error}."
        yield False, f"{words} Nothing is published until it is: look at AWS_ENDPOINT_URL and the keys."
    else:
        yield True, f"Published pages lie in {settings.BOARDS_URL}."


def _back_ups() -> Iterator[tuple[bool, str]]:
    if not settings.BACKUP_KEY:
        yield False, "No back-ups are made: python3 manage.py backup_key says how to begin."
        return
    if words := backups.wrong_with_key():
        yield False, f"No back-ups are made: {words}"
        return
    last = backups.newest()
    if last is None or timezone.now() - last.made_at > timedelta(hours=26):
        yield False, "The last nightly back-up is older than a day, or there is none. Look at the worker's log."
    else:
        yield True, f"The last back-up is of {last.made_at:%d %B %H:%M} UTC ({last.path})."
