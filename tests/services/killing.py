"""Kill everything, again and again, while a week is published, sessions are logged and results are brought in.

    .venv/bin/python -m tests.services.killing [kills]

PostgreSQL, Redis, web server, worker and scheduler run as an installation has them, each started again when it dies, as
a supervisor does. Phones send each log until it is taken, the coach publishes again and again, and files are brought
in. At the end nothing may be missing, double or half-done. Seconds from the kill of a worker to the next sign of life
of the job that it had are printed. test_killing.py does the same with a few kills.
"""

import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
import urllib.error
import urllib.request
from collections import Counter
from collections.abc import Callable
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from uuid import uuid4

from tests.servers import _postgresql_binaries, _redis_binary, _unprivileged, free_port

KILLS, ATHLETES, ROWS = 200, 150, 600
BETWEEN_S = (0.3, 3.0)
VICTIMS = ("worker", "worker", "worker", "web", "web", "scheduler", "redis", "postgresql")
SETTLE_S = 120


class Kept:
    """A program that is started again whenever it dies."""

    def __init__(self, command: list, log: Path, **how) -> None:
        self.command, self.log, self.how, self.over = command, log, how, False
        self.process: subprocess.Popen | None = None
        self.thread = threading.Thread(target=self._keep, daemon=True)
        self.thread.start()

    def _keep(self) -> None:
        while not self.over:
            with self.log.open("ab") as log:
                self.process = subprocess.Popen(
                    self.command, stdout=log, stderr=log, start_new_session=True, **self.how
                )
            self.process.wait()
            with suppress(ProcessLookupError):
                os.killpg(self.process.pid, signal.SIGKILL)
            time.sleep(0.3)

    def kill(self) -> None:
        """All of it at once, as a container ends: PostgreSQL gives its processes sessions of their own."""
        for pid in _descendants(self.process.pid) if self.process else ():
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)

    def end(self) -> None:
        self.over = True
        self.kill()
        self.thread.join(timeout=10)


def _descendants(pid: int) -> list[int]:
    """A process and all that it started, itself first."""
    try:
        children = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    except OSError:
        return [pid]
    return [pid, *(each for child in children for each in _descendants(int(child)))]


@contextmanager
def installation():
    """All five programs, by name, and the address of the site; the environment names the servers."""
    folder = Path(tempfile.mkdtemp(prefix="coachhub-killing-"))
    folder.chmod(0o755)
    (base := folder / "postgresql").mkdir()
    ports = {name: free_port() for name in ("postgresql", "redis", "web")}
    user, binaries = _unprivileged(base), _postgresql_binaries()
    init = [binaries / "initdb", "-D", base / "data", "-U", "coachhub", "-A", "trust", "-E", "UTF8"]
    subprocess.run(init, check=True, stdout=subprocess.DEVNULL, cwd=base, **user)
    data = folder / "data"
    os.environ |= {
        "DATABASE_URL": f"postgresql://coachhub@127.0.0.1:{ports['postgresql']}/postgres",
        "REDIS_URL": f"redis://127.0.0.1:{ports['redis']}/0",
        "DATA_DIR": str(data),
        "DJANGO_SETTINGS_MODULE": "coachhub.settings",
        "LOG_LEVEL": "ERROR",
    }
    postgres = [binaries / "postgres", "-D", base / "data", "-c", "listen_addresses=127.0.0.1"]
    postgres += ["-c", f"port={ports['postgresql']}", "-c", "unix_socket_directories="]
    redis = [_redis_binary(), "--port", str(ports["redis"]), "--bind", "127.0.0.1", "--dir", str(folder)]
    celery = [sys.executable, "-m", "celery", "-A", "coachhub.celery"]
    kept = {
        "postgresql": Kept(postgres, folder / "postgresql.log", cwd=base, **user),
        "redis": Kept([*redis, "--appendonly", "yes"], folder / "redis.log"),
    }
    with ExitStack() as stack:
        stack.callback(shutil.rmtree, folder, ignore_errors=True)
        stack.callback(lambda: [program.end() for program in kept.values()])
        _patiently(lambda: subprocess.run([sys.executable, "manage.py", "prepare"], check=True, stderr=-3))
        web = ["-m", "gunicorn", "coachhub.wsgi", "--config", "python:coachhub.web", "--bind"]
        kept["web"] = Kept([sys.executable, *web, f"127.0.0.1:{ports['web']}"], folder / "web.log")
        pool = ["-c", "2", "--without-gossip", "--without-mingle"]
        kept["worker"] = Kept([*celery, "worker", *pool], folder / "worker.log")
        kept["scheduler"] = Kept([*celery, "beat"], folder / "scheduler.log")
        yield kept, f"http://127.0.0.1:{ports['web']}", folder


def _patiently(act: Callable, seconds: float = 120):
    """What `act` gives, however often it fails in between."""
    end = time.monotonic() + seconds
    while True:
        try:
            return act()
        except Exception:
            if time.monotonic() > end:
                raise
            time.sleep(0.2)


def main(kills: int = KILLS, seed: int = 0) -> Counter:
    chance = random.Random(seed)
    with installation() as (programs, site, folder):
        import django

        django.setup()
        from django.db import close_old_connections, connection

        from sessions.models import Log, Publication

        facts = _patiently(furnish)
        done, stop, waits = Counter(), threading.Event(), []
        work = [log_sessions, publish_weeks, bring_in]
        threads = [threading.Thread(target=one, args=(site, facts, done, stop)) for one in work]
        for thread in threads:
            thread.start()
        for _ in range(kills):
            time.sleep(chance.uniform(*BETWEEN_S))
            victim = chance.choice(VICTIMS)
            programs[victim].kill()
            done[f"killed {victim}"] += 1
            if victim == "worker" and chance.random() < 0.3:
                waits += _until_alive()
        stop.set()
        for thread in threads:
            thread.join(timeout=SETTLE_S)
            assert not thread.is_alive(), "something never came to an end"
        _patiently(lambda: close_old_connections() or settled(), SETTLE_S)
        assert Log.objects.count() == done["logs"], (Log.objects.count(), done)
        for publication in Publication.objects.filter(live_at__isnull=False):
            assert publication.targets.count() == ATHLETES * 3, publication
            assert publication.pages.count() == ATHLETES, publication
        check_imports(done)
        connection.close()
    if waits:
        waits.sort()
        done["s until a dead worker's job goes on, median"] = round(waits[len(waits) // 2], 1)
        done["s until a dead worker's job goes on, at worst"] = round(waits[-1], 1)
    return done


def _until_alive() -> list[float]:
    """How long the publishing under way, if there is one, waits for another worker."""
    from django.db import DatabaseError, close_old_connections
    from django.utils import timezone

    from sessions.models import Publication

    began, moment = time.monotonic(), timezone.now()
    with suppress(DatabaseError):
        close_old_connections()
        held = Publication.objects.filter(state__in=["computing", "rendering"]).first()
        while held and time.monotonic() - began < 60:
            now = Publication.objects.get(pk=held.pk)
            if not now.running or (now.claim and now.claim != held.claim and now.heartbeat_at > moment):
                return [time.monotonic() - began]
            time.sleep(0.1)
    return []


def furnish() -> dict:
    """A gym with a live week of today, a link for everyone and a coach's token."""
    from athletes.accounts.write import token_replace
    from athletes.links.write import links_issue_missing
    from athletes.models import Account, Athlete, Link
    from sessions.models import PublishedSession
    from sessions.publishing import run as publishing
    from sessions.publishing.write import publication_request
    from tests import gym

    if not Athlete.objects.exists():
        gym.furnish()
        gym.people(ATHLETES)
    coach = Account.objects.filter(username="coach").first()
    coach = coach or Account.objects.create_user("coach", password=None, role="coach", name="The coach")
    links_issue_missing(by=None)
    live = PublishedSession.objects.first()
    if live is None:
        week = gym.planned_week(gym.this_monday())
        publishing.run(publication_request(week=week, by=coach, day=gym.this_monday()).pk)
        gym.planned_week()
        live = PublishedSession.objects.first()
    tokens = [link.token for link in Link.objects.filter(kind="athlete")]
    return {"session": live, "links": tokens, "token": token_replace(account=coach), "coach": coach.pk}


def log_sessions(site: str, facts: dict, done: Counter, stop: threading.Event) -> None:
    """Phones: each log is sent until it is taken, and now and then once more."""
    session = facts["session"]
    number = 0
    while not stop.is_set():
        entries = [{"station": 1, "rounds": 1, "dose": 5}]
        log = {"key": str(uuid4()), "session_key": str(session.key), "date": session.date.isoformat(), "rpe": 7}
        log |= {"done_at": f"{session.date}T{10 + number % 8:02d}:{number % 60:02d}:00Z", "entries": entries}
        token = facts["links"][number % len(facts["links"])]
        for _ in range(1 + number % 2):
            _patiently(lambda token=token, log=log: _post(f"{site}/api/v1/my/logs/", f"Link {token}", log))
        done["logs"] += 1
        number += 1
        time.sleep(0.05)


def publish_weeks(site: str, facts: dict, done: Counter, stop: threading.Event) -> None:
    """A coach: publishes next week again as soon as it is done, and once more where it was cut off too often."""
    from django.db import close_old_connections

    from sessions.models import Publication, Week

    week = _patiently(lambda: Week.objects.latest("starts_on"))

    def under_way() -> bool:
        close_old_connections()
        return Publication.objects.filter(week=week, state__in=Publication.RUNNING).exists()

    while not stop.is_set():
        if not _patiently(under_way):
            with suppress(urllib.error.HTTPError):  # 409: it is under way after all
                _patiently(lambda: _post(f"{site}/api/v1/weeks/{week.pk}/publish/", f"Token {facts['token']}", {}))
                done["publishings"] += 1
        time.sleep(0.2)


def bring_in(site: str, facts: dict, done: Counter, stop: threading.Event) -> None:
    """Files with results, one after the other, each of another day."""
    from datetime import date, timedelta

    from django.db import close_old_connections

    from athletes.importing.write import import_begin, import_check, import_keep
    from athletes.models import Account, Import

    coach, day = _patiently(lambda: Account.objects.get(pk=facts["coach"])), date(2024, 1, 1)

    def state_of(key) -> Import:
        close_old_connections()
        return Import.objects.get(key=key)

    def keep(source: Import) -> None:
        """With all that is questioned."""
        wanted = source.remarks.filter(kind="questioned").values_list("pk", flat=True)
        import_keep(source=source, create_athletes=False, wanted=wanted)

    while not stop.is_set():
        rows = [f"Athlete {n % ATHLETES:04d},2k row,7:{n // ATHLETES:02d},{day}" for n in range(ROWS)]
        content, key = "\n".join(["Athlete,Benchmark,Result,Date", *rows]).encode(), uuid4()
        day += timedelta(days=1)
        _patiently(lambda k=key, c=content: import_begin(key=k, filename=f"{k}.csv", content=c, by=coach))
        for act, reached in ((import_check, "checked"), (keep, "done")):
            while (source := _patiently(lambda k=key: state_of(k))).state != reached:
                if source.state not in Import.RUNNING:
                    with suppress(Exception):  # away, or moved on in this moment
                        act(source=source)
                time.sleep(0.2)
        done["imports"] += 1


def settled() -> None:
    from athletes.models import Import
    from sessions.models import Publication

    assert not Publication.objects.filter(state__in=Publication.RUNNING).exists()
    assert not Import.objects.filter(state__in=Import.RUNNING).exists()


def check_imports(done: Counter) -> None:
    """Each row of each file is kept exactly once: every file has a day of its own."""
    from django.db.models import Count

    from athletes.models import Effort, Import

    finished = Import.objects.filter(state="done").count()
    assert finished >= done["imports"] > 0
    brought = Effort.objects.filter(entered_by__isnull=False)
    days = list(brought.values("performed_on").annotate(n=Count("pk")).values_list("n", flat=True))
    assert max(days) == ROWS, days
    assert days.count(ROWS) >= finished, (days, finished)
    done["results"] = brought.count()


def _post(url: str, authorization: str, body: dict) -> None:
    headers = {"Authorization": authorization, "Content-Type": "application/json", "Host": "localhost"}
    request = urllib.request.Request(url, json.dumps(body).encode(), headers)
    try:
        urllib.request.urlopen(request, timeout=20).read()
    except urllib.error.HTTPError as answer:
        if answer.code == 409:
            return
        raise


if __name__ == "__main__":
    for what, count in sorted(main(*map(int, sys.argv[1:])).items()):
        print(f"{count:8}  {what}")
