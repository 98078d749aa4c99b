"""Headless Chromium against a live server, with everything the page complains about collected."""

import os
import re
import shutil
import threading
import time
from collections.abc import Callable

import pytest
from django.core.signals import request_finished, request_started
from django.dispatch import receiver
from django.test import Client
from playwright.sync_api import Browser, Page, expect, sync_playwright

from athletes.models import Account
from tests import gym
from tests.browser.beginnings import put_back, rows_now
from tests.browser.chromium import ARGUMENTS, shell

# Playwright runs an event loop in this thread; Django would otherwise refuse its own database calls beside it.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
expect.set_options(timeout=20_000)  # on a busy machine a page is slow, but not wrong
# The browser reports these as errors, but they are meant: a revoked link, a form to mend, two versions, a connection
# cut by a test, an answer that later typing overtook.
OWN_ANSWERS = re.compile(
    r"the server responded with a status of (409|410|422)|net::ERR_INTERNET_DISCONNECTED"
    r"|htmx:(afterRequest|sendError|sendAbort)"
    r"|A bad HTTP response code \(410\) was received when fetching the script"
)


COACH = 1_000_000  # beyond what a database numbers by itself


@pytest.fixture(autouse=True)
def _kept() -> None:
    """The server goes on from test to test, so it must not keep the gym of another."""


@pytest.fixture
def coach(make_account) -> Account:
    return make_account("coach", pk=COACH)


@pytest.fixture(scope="session")
def made() -> dict:
    """The beginnings that were made in this process: their rows, and the folder of their boards."""
    return {}


@pytest.fixture
def begin_with(made, coach, settings, tmp_path_factory) -> Callable:
    """Furnish the gym and `make` what a test begins with, or copy what an earlier test made in the same way."""

    def begin(make: Callable[[Account], None]) -> None:
        if make in made:
            rows, boards = made[make]
            put_back(rows)
            shutil.copytree(boards, settings.MEDIA_ROOT)
        else:
            gym.furnish()
            make(coach)
            boards = tmp_path_factory.mktemp("boards")
            shutil.copytree(settings.MEDIA_ROOT, boards, dirs_exist_ok=True)
            made[make] = rows_now(), boards

    return begin


@pytest.fixture(scope="session")
def chromium():
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shell(), args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def open_page(chromium: Browser, live_server):
    """Open pages as the person of a test client, at any size.

    A complaint in the console, and a request to any other host, fails the test.
    """
    contexts, complaints = [], []

    def open_as(client: Client, width: int = 1280, height: int = 800, **options) -> Page:
        context = chromium.new_context(viewport={"width": width, "height": height}, base_url=live_server.url, **options)
        cookies = [
            {"name": name, "value": morsel.value, "url": live_server.url} for name, morsel in client.cookies.items()
        ]
        context.add_cookies(cookies)
        contexts.append(context)
        page = context.new_page()
        _listen(page, live_server.url, complaints)
        return page

    yield open_as
    heard = list(complaints)
    for context in contexts:
        if context.pages:  # what a page still sends as it closes would come into the next test
            context.set_offline(True)  # which each page may complain of
        context.close()
    _wait_for_the_server()
    assert not heard


serving: set[int] = set()  # threads of the live server that are at a request


@receiver(request_started)
def _begins(**_) -> None:
    if threading.current_thread() is not threading.main_thread():
        serving.add(threading.get_ident())


@receiver(request_finished)
def _ends(**_) -> None:
    serving.discard(threading.get_ident())


def _wait_for_the_server() -> None:
    """Let it end what nobody waits for any more: the tables are emptied next, and would meet it half-way."""
    end = time.monotonic() + 20
    while serving and time.monotonic() < end:
        time.sleep(0.02)


def _listen(page: Page, home: str, complaints: list[str]) -> None:
    def heard(message) -> None:
        if message.type == "error" and not OWN_ANSWERS.search(message.text):
            complaints.append(message.text)

    def asked(request) -> None:
        if not request.url.startswith((home, "data:", "blob:")):
            complaints.append(f"asked another host: {request.url}")

    page.on("console", heard)
    page.on("request", asked)
    page.on("pageerror", lambda error: complaints.append(str(error)))
