"""A room of phones at one server: everyone opens today's page within a minute and follows the clock meanwhile.

    DATA_DIR=$(mktemp -d) .venv/bin/python -m tests.benchmarks.clock [phones] [seconds]

The site runs as `manage.py start` runs it: gunicorn with two workers. In the same run, before and after, as many
requests at the same pace go to a bare view with one query behind what a new Django project begins with. Every request
has a connection of its own, because these workers keep none open. A coach presses something every ten seconds.
"""

import asyncio
import random
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import contextmanager
from uuid import uuid4

from tests.benchmarks.beginning import prepare_site
from tests.servers import free_port

PHONES, SECONDS = 300, 60
EVERY_S = 2.0  # FAST_MS of static/sessions/phone/live.js, give or take a quarter
PRESS_EVERY_S = 10.0
WORKERS = "2"  # coachhub.serve.WEB_WORKERS
PAGE, CLOCK = "today's page", "the clock"


def main(phones: int, seconds: float) -> None:
    from tests.phones import asked_by

    tokens, press = furnish(phones)
    room = [(cookie, [(home, PAGE), (f"{home}clock/", CLOCK)]) for home, cookie in map(asked_by, tokens)]
    bare = [("", [("/bare/", "bare view"), ("/bare/", "bare view")])] * phones
    print(f"{phones} phones for {seconds:.0f} s at {WORKERS} workers; times in ms")
    found = measure("tests.benchmarks.bare_wsgi", bare, seconds / 2)
    found += measure("coachhub.wsgi", room, seconds, press)
    found += measure("tests.benchmarks.bare_wsgi", bare, seconds / 2)
    base = percentile([ms for what, ms, _ in found if what == "bare view"], 95)
    for what in ("bare view", CLOCK, PAGE):
        times = [ms for name, ms, _ in found if name == what]
        errors = [status for name, _, status in found if name == what and status not in (200, 304)]
        p50, p95 = percentile(times, 50), percentile(times, 95)
        line = f"{what:14} {len(times):6} requests, {len(errors)} errors, median {p50:6.1f}, p95 {p95:6.1f}"
        print(f"{line}, {p95 / base:5.2f} of the bare view's p95")


def furnish(phones: int) -> tuple[list[str], Callable[[], None]]:
    """A link for each phone to a room whose class runs, and a coach who presses."""
    from athletes.gym.read import today
    from athletes.links.write import link_issue
    from athletes.models import Account
    from sessions.clock.write import now_ms, run_change, run_start
    from sessions.publishing import run as publishing
    from sessions.publishing.write import publication_request
    from tests import gym

    gym.furnish()
    athletes = gym.people(phones)
    week = gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7)
    coach = Account.objects.create_user("bench", password=None, role="coach", name="bench")
    publication = publication_request(week=week, by=coach)
    publishing.run(publication.pk)
    session = publication.sessions.get(date=today())
    run = run_start(session=session, hour="06:00", key=uuid4(), by=coach, at_ms=now_ms())

    def press() -> None:
        kind = "pause" if run.changes.count() % 2 == 0 else "resume"
        run_change(run=run, key=uuid4(), kind=kind, at_ms=now_ms(), by=coach)

    return [link_issue(athlete=athlete, by=None).token for athlete in athletes], press


def measure(application: str, room: list, seconds: float, press: Callable[[], None] | None = None) -> list[tuple]:
    """(what, ms, status) of every request of a room at a server of its own."""
    with server(application) as port:
        return asyncio.run(crowd(port, room, seconds, press))


async def crowd(port: int, room: list, seconds: float, press) -> list[tuple]:
    found, end = [], time.monotonic() + seconds
    phones = [phone(port, *each, end, random.Random(number), found) for number, each in enumerate(room)]
    await asyncio.gather(*phones, *([coach(press, end)] if press else []))
    return found


async def phone(port: int, cookie: str, paths: list, end: float, chance: random.Random, found: list) -> None:
    """Opens its page at some moment of the first half, then asks again and again until the end."""
    (page, opened), (clock, followed) = paths
    await asyncio.sleep(chance.uniform(0, (end - time.monotonic()) / 2))
    found.append((opened, *(await ask(port, page, "", cookie))[:2]))
    tag = ""
    while time.monotonic() < end:
        ms, status, fresh = await ask(port, clock, tag, cookie)
        tag = fresh or tag
        found.append((followed, ms, status))
        await asyncio.sleep(EVERY_S * chance.uniform(0.75, 1.25))


async def ask(port: int, path: str, tag: str, cookie: str = "") -> tuple[float, int, str]:
    """(ms, status, ETag) of one request; status 0 when there is no answer."""
    known = f"If-None-Match: {tag}\r\n" if tag else ""
    known += f"Cookie: {cookie}\r\n" if cookie else ""
    begin = time.perf_counter()
    try:
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        writer.write(f"GET {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n{known}\r\n".encode())
        answer = await reader.read(-1)
        writer.close()
    except OSError:
        answer = b""
    ms = 1000 * (time.perf_counter() - begin)
    head = answer.partition(b"\r\n\r\n")[0].decode("latin-1").split("\r\n")
    tags = [line[6:].strip() for line in head if line.lower().startswith("etag:")]
    return ms, int(head[0].split()[1]) if answer else 0, tags[0] if tags else ""


async def coach(press: Callable[[], None], end: float) -> None:
    while time.monotonic() < end:
        await asyncio.to_thread(press)
        await asyncio.sleep(PRESS_EVERY_S)


@contextmanager
def server(application: str):
    port = free_port()
    command = [sys.executable, "-m", "gunicorn", application, "--config", "python:coachhub.web", "--workers", WORKERS]
    process = subprocess.Popen([*command, "--bind", f"127.0.0.1:{port}", "--log-level", "error"])
    try:
        while asyncio.run(ask(port, "/healthy", ""))[1] == 0:
            time.sleep(0.2)
        yield port
    finally:
        process.terminate()
        process.wait()


def percentile(values: list[float], share: int) -> float:
    return sorted(values)[min(len(values) - 1, len(values) * share // 100)]


if __name__ == "__main__":
    prepare_site()
    given = [int(word) for word in sys.argv[1:]]
    main(*(given + [PHONES, SECONDS][len(given) :]))
