"""What a gym asks of the server at once: the highest rate at which 95 % of the answers come within 200 ms.

    DATA_DIR=$(mktemp -d) .venv/bin/python -m tests.benchmarks.mixed

Of ten requests seven read a phone's page, two ask for the clock and one keeps a log; each comes at its own moment,
whether or not the ones before are answered. In the same run a bare Django view with one query, on the same server and
behind what a new project begins with, is asked in the same way. Afterwards: the memory of the web processes before and
after 10,000 requests, and of this process over 20 publishings of one week.
"""

import http.client
import json
import queue
import random
import resource
import statistics
import subprocess
import sys
import threading
import time
from contextlib import contextmanager
from uuid import uuid4

from tests.benchmarks.beginning import prepare_site
from tests.benchmarks.web_servers import GUNICORN, healthy_ms
from tests.servers import free_port

ATHLETES, SECONDS, CONNECTIONS = 200, 8.0, 40
RATES = (50, 100, 150, 200, 300, 400, 600, 800, 1100, 1500)
LONGEST_MS, REQUESTS, PUBLISHINGS = 200, 10_000, 20


def main() -> None:
    phones, session, day = furnished()
    with served("coachhub.wsgi") as (port, server):
        mixed = highest(port, lambda chance: one_of(chance, phones, session, day))
        before = megabytes(server.pid)
        for _ in range(max(1, REQUESTS // 1000)):
            at_rate(port, 500, lambda chance: one_of(chance, phones, session, day), 1000 / 500)
        print(f"web processes: {before:.0f} MB, after {REQUESTS:,} more requests {megabytes(server.pid):.0f} MB")
    with served("tests.benchmarks.bare_wsgi") as (port, _):
        bare = highest(port, lambda chance: ("GET", "/bare/", None, {}))
    print(
        f"mixed load: {mixed} requests/s with p95 under {LONGEST_MS} ms; a bare view: {bare}; {mixed / bare:.2f} of it"
    )
    republish()


def highest(port: int, request) -> int:
    """The highest of the rates that is kept; every rate is printed."""
    best = 0
    at_rate(port, RATES[0], request, 2.0)  # not counted: each process has read its templates then
    for rate in RATES:
        times, failed = at_rate(port, rate, request, SECONDS)
        p95 = statistics.quantiles(times, n=20)[-1]
        print(
            f"  {rate:5} /s: median {statistics.median(times):6.1f} ms, p95 {p95:7.1f} ms, failed {failed}", flush=True
        )
        if p95 > LONGEST_MS or failed:
            break
        best = rate
    return best or RATES[0]


def at_rate(port: int, rate: int, request, seconds: float) -> tuple[list[float], int]:
    """Milliseconds of each answer, counted from the moment it was due, and how many were none."""
    chance, due, times, failed = random.Random(rate), queue.Queue(), [], []
    start = time.perf_counter() + 0.2
    for number in range(int(rate * seconds)):
        due.put(start + number / rate + chance.uniform(0, 1 / rate))

    def work(seed: int) -> None:
        own, connection = random.Random(seed), http.client.HTTPConnection("127.0.0.1", port, timeout=20)
        while True:
            try:
                moment = due.get_nowait()
            except queue.Empty:
                return connection.close()
            time.sleep(max(0.0, moment - time.perf_counter()))
            method, path, body, headers = request(own)
            try:
                connection.request(method, path, body, headers)
                answer = connection.getresponse()
                answer.read()
                if answer.status >= 300:
                    failed.append(answer.status)
            except (OSError, http.client.HTTPException):
                failed.append(0)
                connection.close()
            times.append((time.perf_counter() - moment) * 1000)

    threads = [threading.Thread(target=work, args=(seed,)) for seed in range(CONNECTIONS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return times, len(failed)


def one_of(chance: random.Random, phones: list[tuple[str, str]], session, day) -> tuple[str, str, str | None, dict]:
    (home, cookie), kind = chance.choice(phones), chance.random()
    if kind < 0.7:
        return "GET", home, None, {"Accept-Encoding": "gzip", "Cookie": cookie}
    if kind < 0.9:
        return "GET", f"{home}clock/", None, {"Cookie": cookie}
    log = {"key": str(uuid4()), "session_key": session, "date": day, "rpe": 7, "done_at": f"{day}T12:00:00Z"}
    log |= {"entries": [{"station": 1, "rounds": 1, "dose": 5}]}
    return "POST", "/api/v1/my/logs/", json.dumps(log), {
        "Authorization": f"Link {home.split('/')[2]}", "Cookie": cookie, "Content-Type": "application/json",
    }  # fmt: skip


@contextmanager
def served(application: str):
    port = free_port()
    command = [part.format(port=port) for part in GUNICORN]
    command[command.index("coachhub.wsgi")] = application
    server = subprocess.Popen([sys.executable, *command, "--config", "python:coachhub.web"])
    try:
        while healthy_ms(port) is None:
            time.sleep(0.2)
        yield port, server
    finally:
        server.terminate()
        server.wait()


def megabytes(pid: int) -> float:
    """What a process and its children hold for themselves (their share of what is shared)."""
    children = subprocess.run(["pgrep", "-P", str(pid)], capture_output=True, text=True).stdout.split()
    total = 0
    for each in [str(pid), *children]:
        with open(f"/proc/{each}/smaps_rollup") as file:
            total += next(int(line.split()[1]) for line in file if line.startswith("Pss:"))
    return total / 1024


def furnished() -> tuple[list[tuple[str, str]], str, str]:
    """The phones of everyone in the room, and the session of this week that they log."""
    from athletes.links.write import links_issue_missing
    from athletes.models import Account, Link
    from sessions.models import PublishedSession
    from sessions.publishing import run as publishing
    from sessions.publishing.write import publication_request
    from tests import gym
    from tests.phones import asked_by

    gym.furnish()
    gym.people(ATHLETES)
    week = gym.planned_week(gym.this_monday())
    coach = Account.objects.create_user("bench", password=None, role="coach", name="bench")
    publishing.run(publication_request(week=week, by=coach, day=gym.this_monday()).pk)
    links_issue_missing(by=None)
    session = PublishedSession.objects.get()
    return [asked_by(link.token) for link in Link.objects.all()], str(session.key), session.date.isoformat()


def republish() -> None:
    from athletes.models import Account
    from sessions.models import Week
    from sessions.publishing import run as publishing
    from sessions.publishing.write import publication_request
    from tests import gym

    coach, held = Account.objects.get(username="bench"), []
    week = gym.planned_week(None, gym.circuit())
    for _ in range(PUBLISHINGS):
        publishing.run(publication_request(week=Week.objects.get(pk=week.pk), by=coach).pk)
        held.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
    first, middle, last = (round(held[at]) for at in (0, len(held) // 2, -1))
    print(f"publishing {PUBLISHINGS} times: {first} MB after the first, {middle} half-way, {last} at the end")


if __name__ == "__main__":
    prepare_site()
    main()
