"""Importing by a real worker process, on the database and broker of this run; rows are committed for real, and the
worker is killed for real.
"""

import time
from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from athletes import tasks
from athletes.importing import run
from athletes.importing.write import TASK, import_begin, import_cancel, import_check, import_keep, send
from athletes.models import Athlete, Effort, Estimate, Import
from coachhub import archive_shelf
from coachhub.archive import is_archive
from tests import gym
from tests.services.test_worker import worker

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]

State = Import.State
ROWS = 2000
PATIENCE_S = 180


@pytest.fixture
def source(transactional_db, coach, monkeypatch) -> Import:
    """Several batches of rows, of athletes who are here and of newcomers; as if too long for a page to wait for."""
    monkeypatch.setattr("athletes.importing.read.AT_ONCE", 0)
    gym.furnish()
    gym.people(100)
    names = [f"Athlete {n:04d}" for n in range(100)] + [f"Member {n:04d}" for n in range(100)]
    rows = [f"{names[n % 200]},2k row,7:{n // 200 % 60:02d},2025-11-{1 + n // 12_000:02d}" for n in range(ROWS)]
    content = "Athlete,Benchmark,Result,Date\n" + "\n".join(rows)
    return import_begin(key=uuid4(), filename="results.csv", content=content.encode(), by=coach)


def wait_for(source: Import, wanted) -> None:
    deadline = time.monotonic() + PATIENCE_S
    while time.monotonic() < deadline:
        source.refresh_from_db()
        if wanted(source):
            return
        time.sleep(0.05)
    pytest.fail(f"still {source.state} after {PATIENCE_S} s, {source.done} of {source.total}: {source.failure}")


def questioned(source: Import) -> list[int]:
    """What is asked about, to be kept all the same."""
    return list(source.remarks.filter(kind="questioned").values_list("pk", flat=True))


def test_a_worker_killed_half_way_loses_nothing_and_doubles_nothing(source, settings):
    with worker(settings.MEDIA_ROOT) as process:
        import_check(source=source)
        wait_for(source, lambda it: it.state == State.CHECKED)
        assert not Effort.objects.filter(entered_by__isnull=False).exists()
        import_keep(source=source, create_athletes=True, wanted=questioned(source))
        wait_for(source, lambda it: it.state == State.KEEPING and it.done >= 1000)
        process.kill()
    source.refresh_from_db()
    assert source.state == State.KEEPING  # as the dead worker left it
    Import.objects.filter(pk=source.pk).update(heartbeat_at=timezone.now() - timedelta(minutes=2))
    with worker(settings.MEDIA_ROOT):
        tasks.import_sweep.delay()
        wait_for(source, lambda it: it.state == State.DONE)
    assert Effort.objects.filter(entered_by__isnull=False).count() == source.counts["kept"] == ROWS
    assert Athlete.objects.count() == 200
    assert Estimate.objects.filter(engine="row").count() == 200
    assert source.attempts == 2


def test_two_workers_on_one_queue_keep_each_result_once(source, settings):
    with worker(settings.MEDIA_ROOT), worker(settings.MEDIA_ROOT):
        import_check(source=source)
        for _ in range(4):
            send(TASK, source.pk)
        wait_for(source, lambda it: it.state == State.CHECKED)
        import_keep(source=source, create_athletes=True, wanted=questioned(source))
        for _ in range(4):
            send(TASK, source.pk)
        wait_for(source, lambda it: it.state == State.DONE)
    assert source.attempts == 1
    assert Effort.objects.filter(entered_by__isnull=False).count() == ROWS


def test_what_is_stopped_half_way_leaves_nothing_half_kept(source, coach, settings, monkeypatch):
    with worker(settings.MEDIA_ROOT):
        import_check(source=source)
        wait_for(source, lambda it: it.state == State.CHECKED)
    import_keep(source=source, create_athletes=True, wanted=questioned(source))
    stopped = []

    def stop_behind_the_first_batch(*args) -> run.Batch:
        work = keep_rows(*args)
        stopped.append(import_cancel(source=source, by=coach))
        return work

    keep_rows = run._keep_rows
    monkeypatch.setattr(run, "_keep_rows", stop_behind_the_first_batch)
    run.run(source.pk)  # as a worker, which notices only at its second batch
    assert stopped == [True]
    assert Effort.objects.filter(import_key=source.key).count() == run.BATCH
    assert not import_cancel(source=source, by=coach)
    with worker(settings.MEDIA_ROOT):
        wait_for(source, lambda it: it.state == State.TAKEN_BACK)
    assert not Effort.objects.filter(import_key=source.key, voided_at=None).exists()
    assert not Athlete.objects.filter(name__startswith="Member").exists()


def test_a_worker_process_makes_an_archive(source, settings):
    with worker(settings.MEDIA_ROOT):
        archive_shelf.ask()
        assert archive_shelf.being_made()
        deadline = time.monotonic() + PATIENCE_S
        while archive_shelf.being_made() and time.monotonic() < deadline:
            time.sleep(0.05)
    [made] = archive_shelf.shelved()[:1]
    assert is_archive(archive_shelf.path_of(made.name))
