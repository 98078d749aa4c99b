"""Several weeks published at once by 1, 2 and 4 worker processes, beside the raw insert of the same rows.

    DATA_DIR=$(mktemp -d) .venv/bin/python -m tests.benchmarks.workers [athletes [weeks]]

On PostgreSQL and Redis of its own. A week is one gym's and published by one worker, so that more workers serve more
gyms (or weeks) at once. Afterwards what one athlete costs a week: processor time of the workers, bytes kept.
"""

import os
import subprocess
import sys
import tempfile
import time
from contextlib import ExitStack, contextmanager
from datetime import timedelta
from pathlib import Path

from tests import servers

SESSIONS, CROWDS = 4, (1, 2, 4)
TICKS = os.sysconf("SC_CLK_TCK")


def main(athletes: int = 1000, weeks: int = 4) -> None:
    from athletes.models import Account
    from tests import gym
    from tests.benchmarks.publish import five_stations

    gym.furnish()
    gym.people(athletes)
    circuit, monday = gym.circuit(five_stations()), gym.this_monday()
    coach = Account.objects.create_user("bench", password=None, role="coach", name="bench")
    each, raw_s = athletes * weeks, 0.0
    print(f"{weeks} weeks of {SESSIONS} sessions x 5 stations, {athletes} athletes")
    for crowd in CROWDS:
        planned = []
        for _ in range(weeks):
            monday += timedelta(days=7)
            planned.append(gym.planned_week(monday, *[circuit] * SESSIONS))
        before = kept_bytes()
        seconds, processor_s = publish(planned, coach, crowd)
        after = kept_bytes()
        raw_s = raw_s or raw_insert()
        print(f"{crowd} workers: {seconds:7.1f} s, {seconds / raw_s:5.1f} x raw insert ({raw_s:.2f} s)", end="")
        print(f"; an athlete and week: {1000 * processor_s / each:.1f} ms of the workers' processors", end="")
        print(f", {(after - before) / each:.0f} bytes kept", flush=True)


def publish(planned: list, coach, crowd: int) -> tuple[float, float]:
    """Seconds until all of these weeks are live, and the workers' processor time, their start left out."""
    from sessions.models import Publication
    from sessions.publishing.write import publication_request

    with workers(crowd) as pids:
        begin, used = time.perf_counter(), processor(pids)
        asked = [publication_request(week=week, by=coach).pk for week in planned]
        running = Publication.objects.filter(pk__in=asked, state__in=Publication.RUNNING)
        while running.exists():
            time.sleep(0.1)
        seconds, used = time.perf_counter() - begin, processor(pids) - used
    assert Publication.objects.filter(pk__in=asked, live_at__isnull=False).count() == len(planned)
    return seconds, used


def raw_insert() -> float:
    """The seconds to put all targets that there are into the empty table again."""
    import json

    from django.db import transaction

    from sessions.models import Target
    from sessions.publishing.rows import insert_ignoring_conflicts
    from sessions.targets.compute import Computed

    fields = ["publication", "session", *Computed._fields]
    rows = [(*row[:-1], json.dumps(row[-1])) for row in Target.objects.values_list(*fields)]
    Target.objects.all()._raw_delete("default")
    begin = time.perf_counter()
    transaction.atomic(insert_ignoring_conflicts)(Target, fields, rows)
    return time.perf_counter() - begin


@contextmanager
def workers(crowd: int):
    """Worker processes of one thread each, once they are ready; their ids."""
    command = [sys.executable, "-m", "celery", "-A", "coachhub.celery", "worker", "-P", "solo"]
    command += ["--without-gossip", "--without-mingle", "-n"]
    environment = {**os.environ, "LOG_LEVEL": "INFO"}  # at which a worker says that it is ready
    with ExitStack() as running:
        logs = [running.enter_context(tempfile.NamedTemporaryFile("w+")) for _ in range(crowd)]
        started = []
        for number, log in enumerate(logs):
            worker = subprocess.Popen([*command, f"w{number}@bench"], stdout=log, stderr=log, env=environment)
            running.callback(worker.wait)
            running.callback(worker.terminate)
            started.append(worker)
        for worker, log in zip(started, logs, strict=True):
            while " ready." not in Path(log.name).read_text():
                assert worker.poll() is None, f"a worker did not start: {Path(log.name).read_text()}"
                time.sleep(0.05)
        yield [worker.pid for worker in started]


def processor(pids: list[int]) -> float:
    """Seconds of processor time so far."""
    fields = [Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split() for pid in pids]
    return sum(int(each[11]) + int(each[12]) for each in fields) / TICKS


def kept_bytes() -> int:
    """What the published pages hold, and the database where it is PostgreSQL."""
    from django.conf import settings
    from django.db import connection

    pages = sum(path.stat().st_size for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file())
    if connection.vendor != "postgresql":
        return pages
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_database_size(current_database())")
        return pages + cursor.fetchone()[0]


if __name__ == "__main__":
    with ExitStack() as running:
        os.environ["DATABASE_URL"] = running.enter_context(servers.postgresql())
        os.environ["REDIS_URL"] = running.enter_context(servers.redis())
        from tests.benchmarks.beginning import prepare_site

        prepare_site()
        main(*map(int, sys.argv[1:]))
