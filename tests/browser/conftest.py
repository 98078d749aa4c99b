"""Headless Chromium against a live server, with everything the page complains about collected."""

import os
import shutil

import pytest
from django.test import Client
from playwright.sync_api import Browser, Page, sync_playwright

# Playwright runs an event loop in this thread; Django would otherwise refuse its own database calls beside it.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
ARGUMENTS = [
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip


@pytest.fixture(scope="session")
def chromium():
    path = shutil.which("chromium")
    if path is None:
        raise RuntimeError("No browser for the tests. Install Debian's package chromium, then run them again.")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def open_page(chromium: Browser, live_server):
    """Open pages as the person of a test client, at any size; a complaint in the console fails the test."""
    contexts, complaints = [], []

    def open_as(client: Client, width: int = 1280, height: int = 800, **options) -> Page:
        context = chromium.new_context(viewport={"width": width, "height": height}, base_url=live_server.url, **options)
        cookies = [
            {"name": name, "value": morsel.value, "url": live_server.url} for name, morsel in client.cookies.items()
        ]
        context.add_cookies(cookies)
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        return page

    yield open_as
    for context in contexts:
        context.close()
    assert not complaints
