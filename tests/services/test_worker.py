"""Publishing by a real worker process, on the database and broker of this run: SQLite and folders, or PostgreSQL and
Redis (see tests/plugin.py). Rows are committed for real, and the worker is killed for real.
"""

import os
import signal
import subprocess
import sys
import time
from contextlib import contextmanager, suppress
from datetime import timedelta

import pytest
from django.conf import settings
from django.db import connection
from django.utils import timezone

from athletes.sending import send
from sessions import tasks
from sessions.models import Publication
from sessions.publishing import run as publishing
from sessions.publishing.write import publication_request
from tests import gym

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]

State = Publication.State
PATIENCE_S = 60


@pytest.fixture
def week(transactional_db, coach):
    gym.furnish()
    gym.people(30)
    return gym.planned_week()


@contextmanager
def worker(boards):
    """One worker process, as `manage.py start` runs it, on this test's database."""
    environment = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "tests.settings",
        "DATABASE_URL": database_url(),
        "TEST_BOARDS": str(boards),
    }
    command = [sys.executable, "-m", "celery", "-A", "coachhub.celery", "worker", "-P", "solo", "-l", "INFO"]
    command += ["--without-gossip", "--without-mingle", "--without-heartbeat"]
    process = subprocess.Popen(
        command, cwd=settings.BASE_DIR, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    )
    try:
        yield process
    finally:
        with suppress(ProcessLookupError):
            process.send_signal(signal.SIGTERM)
        try:
            output, _ = process.communicate(timeout=20)
        except subprocess.TimeoutExpired:
            process.kill()
            output, _ = process.communicate()
        print(output.decode(errors="replace")[-4000:])


def database_url() -> str:
    """This test's database, for another process."""
    values = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{values['NAME']}"
    return f"postgresql://{values['USER']}@{values['HOST']}:{values['PORT']}/{values['NAME']}"


def wait_for(publication, *states):
    deadline = time.monotonic() + PATIENCE_S
    while time.monotonic() < deadline:
        publication.refresh_from_db()
        if publication.state in states:
            return
        time.sleep(0.05)
    pytest.fail(f"still {publication.state} after {PATIENCE_S} s, {publication.done} of {publication.total}")


def test_a_worker_process_publishes_what_a_coach_asks_for(week, coach, settings):
    with worker(settings.MEDIA_ROOT):
        publication = publication_request(week=week, by=coach)
        wait_for(publication, State.LIVE)
    assert publication.targets.count() == 30 * 3
    assert publication.pages.count() == 30
    assert (settings.MEDIA_ROOT / publication.paper_a3).stat().st_size > 10_000


def test_a_worker_killed_half_way_loses_nothing_and_doubles_nothing(week, coach, settings):
    gym.people(300)  # long enough to be caught in the act
    with worker(settings.MEDIA_ROOT) as process:
        publication = publication_request(week=week, by=coach)
        wait_for(publication, State.RENDERING)
        process.kill()
    publication.refresh_from_db()
    assert publication.state == State.RENDERING  # as the dead worker left it
    Publication.objects.filter(pk=publication.pk).update(heartbeat_at=timezone.now() - timedelta(minutes=2))
    with worker(settings.MEDIA_ROOT):
        tasks.publication_sweep.delay()
        wait_for(publication, State.LIVE)
    assert publication.attempts == 2
    assert publication.targets.count() == 330 * 3
    assert publication.pages.count() == 330


def test_two_workers_on_one_queue_publish_once(week, coach, settings):
    with worker(settings.MEDIA_ROOT), worker(settings.MEDIA_ROOT):
        publication = publication_request(week=week, by=coach)
        for _ in range(5):
            send("sessions.publish", publication.pk)
        wait_for(publication, State.LIVE)
        time.sleep(1)
    publication.refresh_from_db()
    assert (publication.attempts, publication.state) == (1, State.LIVE)
    assert publishing.requeue_silent() == []
