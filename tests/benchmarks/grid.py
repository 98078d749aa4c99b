"""The entry grid under ten typists: from a result that is sent to the answer that it is saved, beside a bare view's.

    DATA_DIR=$(mktemp -d) .venv/bin/python -m tests.benchmarks.grid

Ten people send 40 results a minute each to a running gunicorn with two workers, as `start` runs it, and their pages
look for others' entries every three seconds; then the same ten call a bare view with one query as often.
"""

import http.client
import json
import os
import subprocess
import sys
import threading
import time
from urllib.parse import urlencode
from uuid import uuid4

from tests.benchmarks.beginning import prepare_site

PEOPLE, PER_MINUTE, SECONDS = 10, 40, 60.0
LOOK_EVERY_S = 3.0
ATHLETES = 110
PLAUSIBLE = {"2000-m-row": "7:1{}.0", "1-min-row-calories": "2{}", "pull-ups-unbroken": "1{}", "1500-m-run": "6:1{}.0"}


def main() -> None:
    from tests.servers import free_port

    day, results, headers = furnish()
    port = free_port()
    server = subprocess.Popen(
        [sys.executable, "-m", "gunicorn", "tests.benchmarks.grid:site()", "--bind", f"127.0.0.1:{port}"]
        + ["--config", "python:coachhub.web", "--workers", "2"]
    )
    cells = f"/test-days/{day}/grid/cells/"
    try:
        wait_for(port)
        warm(port, headers, cells)
        saved, looked = typists(port, headers, lambda n: ("POST", cells, next(results[n])), cells)
        bare, _ = typists(port, headers, lambda n: ("GET", "/bare/", None), None)
    finally:
        server.terminate()
        server.wait()
    kept(day)
    print(f"{PEOPLE} people, {PER_MINUTE} entries a minute each for {SECONDS:.0f} s: {len(saved)} entries")
    for name, times in (("entry to saved", saved), ("look for others", looked), ("bare view", bare)):
        print(f"{name:16} median {quantile(times, 0.5):7.1f} ms   p95 {quantile(times, 0.95):7.1f} ms")
    print(f"entry to saved, p95: {quantile(saved, 0.95) / quantile(bare, 0.95):.1f} of the bare view")


def site():
    """The site with the bare view in it, for gunicorn."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coachhub.settings")
    from django.conf import settings
    from django.core.wsgi import get_wsgi_application

    settings.ROOT_URLCONF = "tests.benchmarks.bare_site"
    return get_wsgi_application()


def furnish():
    """A test day of all athletes in four benchmarks; each person's own results; and the headers of a session."""
    from django.test import Client

    from athletes.gym.read import today
    from athletes.models import Account, Benchmark, TestDay, TestSlot
    from tests import gym

    gym.furnish()
    people = gym.people(ATHLETES)
    day = TestDay.objects.create(date=today(), starts_at="18:00")
    tests = list(Benchmark.objects.filter(slug__in=PLAUSIBLE))
    TestSlot.objects.bulk_create(TestSlot(test_day=day, athlete=a, benchmark=b) for b in tests for a in people)
    account = Account.objects.create_user("bench", password=None, role="staff", name="bench")
    client = Client(HTTP_HOST="localhost")
    client.force_login(account, backend="django.contrib.auth.backends.ModelBackend")
    client.get("/account/")
    session, token = (client.cookies[name].value for name in ("sessionid", "csrftoken"))
    headers = {"Cookie": f"sessionid={session}; csrftoken={token}", "X-CSRFToken": token}
    places = [(a.pk, b.pk, PLAUSIBLE[b.slug]) for b in tests for a in people]
    return day.pk, [documents(places[n::PEOPLE]) for n in range(PEOPLE)], headers


def documents(places):
    """What one person types: a result in each of their own places, as the page would send it."""
    for place, (athlete, benchmark, text) in enumerate(places):
        body = {"athlete": athlete, "benchmark": benchmark, "key": str(uuid4()), "base": 0, "confirmed": True}
        yield json.dumps({**body, "typed": text.format(place % 10)})
    raise RuntimeError("Nothing is left to type: give the benchmark more athletes.")


def typists(port, headers, request, looks_at):
    """Milliseconds of every entry, and of every look for others' entries."""
    times, looked, threads = [], [], []
    end = time.perf_counter() + SECONDS
    for person in range(PEOPLE):
        pause = 60.0 / PER_MINUTE
        first = pause * person / PEOPLE
        task = (port, headers, lambda person=person: request(person), times, first, pause, end)
        threads.append(threading.Thread(target=repeat, args=task))
        if looks_at:
            page = Look(looks_at)
            look = (port, headers, page.request, looked, first, LOOK_EVERY_S, end, page.heard)
            threads.append(threading.Thread(target=repeat, args=look))
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return times, looked


class Look:
    """A page that looks for others' entries, and says what it has seen already."""

    def __init__(self, address: str):
        self.address, self.seen = address, {}

    def request(self):
        return "GET", f"{self.address}?{urlencode(self.seen)}", None

    def heard(self, text: str) -> None:
        told = json.loads(text)
        self.seen = {"tag": told["tag"], "at": told["at"]}


def repeat(port, headers, request, times, first, pause, end, heard=lambda text: None):
    """Call at a steady beat; a late answer is waited for, and the beat goes on from there."""
    time.sleep(first)
    while (start := time.perf_counter()) < end:
        method, path, body = request()
        text = call(port, headers, method, path, body)
        times.append(1000 * (time.perf_counter() - start))
        assert not body or json.loads(text)["state"] == "saved", text[:300]
        heard(text)
        time.sleep(max(0.0, start + pause - time.perf_counter()))


def quantile(times: list[float], share: float) -> float:
    ordered = sorted(times) or [float("nan")]
    return ordered[min(int(share * len(ordered)), len(ordered) - 1)]


def kept(day: int) -> None:
    """Everything that was answered as saved is there."""
    from athletes.models import Effort, TestDay

    there = Effort.objects.standing().filter(performed_on=TestDay.objects.get(pk=day).date).count()
    print(f"{there} results stand in the database")


def warm(port: int, headers: dict, cells: str) -> None:
    """A worker loads the site with its first request: let both have had some."""
    calls = [threading.Thread(target=call, args=(port, headers, "GET", cells, None)) for _ in range(20)]
    for thread in calls:
        thread.start()
    for thread in calls:
        thread.join()


def call(port, headers, method, path, body) -> bytes:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    connection.request(method, path, body, {**headers, **({"Content-Type": "application/json"} if body else {})})
    answer = connection.getresponse()
    text = answer.read()
    connection.close()
    assert answer.status == 200, (answer.status, text[:300])
    return text


def wait_for(port: int) -> None:
    for _ in range(300):
        try:
            connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
            connection.request("GET", "/healthy")
            if connection.getresponse().status == 200:
                return
        except OSError:
            time.sleep(0.2)
    raise RuntimeError("The web server does not come up.")


if __name__ == "__main__":
    prepare_site()
    main()
