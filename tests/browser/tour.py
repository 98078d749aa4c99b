"""Takes the pictures of README's tour from a running demo gym.

python3 manage.py start            (in another terminal)
.venv/bin/python -m tests.browser.tour http://127.0.0.1:8000 <password> <wall address> <an athlete's link>

`start` prints the addresses and the demo password.
"""

import shutil
import sys
from pathlib import Path

from playwright.sync_api import sync_playwright

from tests.browser.conftest import ARGUMENTS

FOLDER = Path(__file__).parent / "tour"
STAFF = {"home": "/", "circuit": "/circuits/2/", "entry": "/benchmarks/1/test-day/"}


def main(site: str, password: str, wall: str, phone: str) -> None:
    FOLDER.mkdir(exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=ARGUMENTS)
        page = browser.new_page(viewport={"width": 1280, "height": 800})
        page.goto(f"{site}/login/")
        page.fill("[name=username]", "coach")
        page.fill("[name=password]", password)
        page.press("[name=password]", "Enter")
        page.wait_for_url(f"{site}/")
        for name, path in STAFF.items():
            take(page, f"{site}{path}", name)
        take(browser.new_page(viewport={"width": 1920, "height": 1080}), wall, "wall")
        take(browser.new_page(viewport={"width": 360, "height": 740}, device_scale_factor=2), phone, "phone")
        browser.close()


def take(page, address: str, name: str) -> None:
    page.goto(address)
    page.wait_for_load_state("networkidle")
    page.screenshot(path=FOLDER / f"{name}.png")


if __name__ == "__main__":
    main(*sys.argv[1:])
