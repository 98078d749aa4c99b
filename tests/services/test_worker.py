"""Publishing by a real worker process, on the database and broker of this run: SQLite and folders, or PostgreSQL and
Redis (see tests/plugin.py). Rows are committed for real, and the worker is killed for real.
"""

import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from contextlib import contextmanager, suppress
from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection
from django.utils import timezone

from athletes.sending import send
from coachhub.celery import app
from coachhub.doctor import findings
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
        "LOG_LEVEL": "INFO",
    }
    command = [sys.executable, "-m", "celery", "-A", "coachhub.celery", "worker", "-P", "solo"]
    command += ["--without-gossip", "--without-mingle", "--without-heartbeat"]
    with tempfile.TemporaryFile() as log:
        process = subprocess.Popen(command, cwd=settings.BASE_DIR, env=environment, stdout=log, stderr=log)
        try:
            yield process
        finally:
            with suppress(ProcessLookupError):
                process.send_signal(signal.SIGTERM)
            try:
                process.wait(timeout=20)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
            log.seek(0)
            print(log.read().decode(errors="replace")[-4000:])


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
    assert publishing.requeue_silent() == {}


def test_a_worker_goes_on_after_messages_that_nobody_can_read(week, coach, settings):
    known = {"id": "1", "task": "sessions.publish"}
    about = {"delivery_tag": "1", "delivery_info": {"exchange": "", "routing_key": "celery"}}
    envelope = {"properties": about, "content-type": "application/json", "content-encoding": "utf-8"}
    spoilt = ["", "{", b"\xff\xfe", "[]", "7", json.dumps({"body": "", "headers": known, "properties": {}})]
    spoilt += [json.dumps({**envelope, "body": body, "headers": known}) for body in ("", "7", "[[1], {}]")]
    spoilt.append(json.dumps({**envelope, "body": "[[1], {}, {}]", "headers": known | {"task": "unknown"}}))
    with app.connection_for_write() as broker:
        channel = broker.default_channel
        for n, text in enumerate(spoilt):
            if settings.REDIS_URL:
                channel.client.lpush("celery", text)
            else:
                file = Path(channel.data_folder_in) / f"{n}.celery.msg"
                file.write_bytes(text if isinstance(text, bytes) else text.encode())
        before, _where = channel.aside()
        with worker(settings.MEDIA_ROOT) as process:
            publication = publication_request(week=week, by=coach)
            wait_for(publication, State.LIVE)
            assert process.poll() is None
        assert channel.aside()[0] - before == len(spoilt)
    assert any("could not be read, or came from another version" in words for well, words in findings() if not well)
