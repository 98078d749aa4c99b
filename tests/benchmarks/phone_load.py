"""The first load of today's page on a slow phone: what goes over the air, and when the page can be used.

    DATA_DIR=$(mktemp -d) .venv/bin/python -m tests.benchmarks.phone_load

A real web server with the files as they are served for real; Chromium with 400 ms round trips, 1.6 Mbit/s down,
750 kbit/s up, and a processor four times slower than this one.
"""

import os
import statistics
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager

from tests.benchmarks.beginning import prepare_site
from tests.servers import free_port

ROUNDS, ATHLETES = 7, 40
SLOW_NETWORK = {"offline": False, "latency": 400, "downloadThroughput": 1.6e6 / 8, "uploadThroughput": 750e3 / 8}
SLOWER_PROCESSOR = 4
TIMES = """() => {
    const [page] = performance.getEntriesByType("navigation");
    const [paint] = performance.getEntriesByName("first-contentful-paint");
    const [ready] = performance.getEntriesByName("interactive"); // the app's own script has run
    return { html: page.responseEnd, paint: paint.startTime, ready: ready.startTime, load: page.loadEventEnd };
}"""
BUSY = """() => new Promise((resolve) => {
    new PerformanceObserver((list) => resolve(list.getEntries().map((task) => [task.startTime, task.duration])))
        .observe({ type: "longtask", buffered: true });
    setTimeout(() => resolve([]), 200);
})"""


def main() -> None:
    from playwright.sync_api import sync_playwright

    from tests.browser.chromium import ARGUMENTS, shell

    path, cookie = furnished_phone()
    with web_server() as site, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shell(), args=ARGUMENTS)
        rounds = [first_load(browser, site, path, cookie) for _ in range(ROUNDS)]
        browser.close()
    print("over the air until load, bytes:")
    for address, size in sorted(rounds[-1]["sizes"].items(), key=lambda item: -item[1]):
        print(f"  {size:7d}  {address.replace(path, '/a/…/')}")
    print(f"  {statistics.median(sum(one['sizes'].values()) for one in rounds):7.0f}  together (aim 45,000)")
    print(f"in ms, the median of {ROUNDS} (and the worst):")
    for name in ("html", "paint", "ready", "load", "interactive"):
        found = [one["times"][name] for one in rounds]
        print(f"  {name:12} {statistics.median(found):6.0f} ({max(found):.0f})")
    print("interactive: painted, the app's script has run, and what kept the processor then is over (aim 1,500)")


def first_load(browser, site: str, path: str, cookie: str) -> dict:
    """One visit by a phone that knows nothing yet but the key of its link."""
    context = browser.new_context(viewport={"width": 360, "height": 740}, has_touch=True, is_mobile=True)
    name, _, key = cookie.partition("=")
    context.add_cookies([{"name": name, "value": key, "url": site}])
    page = context.new_page()
    session, addresses, sizes = context.new_cdp_session(page), {}, {}
    session.on("Network.requestWillBeSent", lambda e: addresses.update({e["requestId"]: e["request"]["url"]}))
    session.on("Network.loadingFinished", lambda e: sizes.update({addresses[e["requestId"]]: e["encodedDataLength"]}))
    session.send("Network.enable")
    session.send("Network.emulateNetworkConditions", SLOW_NETWORK)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER_PROCESSOR})
    page.goto(site + path, wait_until="load")
    at_load = {address.removeprefix(site): size for address, size in sizes.items()}
    times, tasks = page.evaluate(TIMES), page.evaluate(BUSY)
    before = [start + length for start, length in tasks if start < times["ready"]]
    times["interactive"] = max(times["paint"], times["ready"], *before)
    context.close()
    return {"times": times, "sizes": at_load}


def furnished_phone() -> tuple[str, str]:
    """What the phone of an athlete asks by (`tests.phones.asked_by`) who has a session today, in the gym."""
    from athletes.links.write import link_issue
    from athletes.models import Account, Athlete
    from sessions.publishing import run as publishing
    from sessions.publishing.write import publication_request
    from tests import gym
    from tests.phones import asked_by

    gym.furnish()
    gym.people(ATHLETES)
    week = gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7)
    coach = Account.objects.create_user("bench", password=None, role="coach", name="bench")
    publishing.run(publication_request(week=week, by=coach, day=gym.this_monday()).pk)
    return asked_by(link_issue(athlete=Athlete.objects.first(), by=None).token)


@contextmanager
def web_server() -> Iterator[str]:
    """gunicorn as `start` runs it."""
    port = free_port()
    site = f"http://127.0.0.1:{port}"
    command = [sys.executable, "-m", "gunicorn", "coachhub.wsgi", "--config", "python:coachhub.web", "--bind"]
    server = subprocess.Popen([*command, f"127.0.0.1:{port}", "--log-level", "error"])
    try:
        for _ in range(100):
            try:
                urllib.request.urlopen(f"{site}/healthy", timeout=1)
                break
            except OSError:
                time.sleep(0.2)
        yield site
    finally:
        server.terminate()
        server.wait()


def prepare() -> None:
    """The files as they are served for real."""
    from django.core.management import call_command

    call_command("collectstatic", verbosity=0, interactive=False, ignore_patterns=["redoc"])


if __name__ == "__main__":
    prepare_site()
    prepare()
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    main()
