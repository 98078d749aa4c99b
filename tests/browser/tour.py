"""Takes the pictures of README's tour from a demo gym that was just made and runs.

python3 manage.py start            (in another terminal)
.venv/bin/python -m tests.browser.tour http://127.0.0.1:8000 <password> <wall address> <an athlete's link>

`start` prints the addresses and the demo password.
"""

import sys
from pathlib import Path

from playwright.sync_api import sync_playwright

from tests.browser.chromium import ARGUMENTS, shell

SETTLED_MS, RUNS_MS = 4_000, 22_000
FOLDER = Path(__file__).parent / "tour"
STAFF = {"home": "/", "circuit": "/circuits/2/", "grid": "/test-days/1/grid/", "progress": "/athletes/1/progress/"}


def main(site: str, password: str, wall: str, phone: str) -> None:
    FOLDER.mkdir(exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shell(), args=ARGUMENTS)
        page = browser.new_page(viewport={"width": 1280, "height": 800})
        page.goto(f"{site}/login/")
        page.fill("[name=username]", "coach")
        page.fill("[name=password]", password)
        page.press("[name=password]", "Enter")
        page.wait_for_url(f"{site}/")
        for name, path in STAFF.items():
            take(page, f"{site}{path}", name)
        take(browser.new_page(viewport={"width": 360, "height": 740}, device_scale_factor=2), phone, "phone")
        run_a_class(page, site, browser.new_page(viewport={"width": 1920, "height": 1080}), wall)
        browser.close()


def run_a_class(page, site: str, screen, wall: str) -> None:
    """Mark every third athlete as here, start the clock, and end the class again."""
    page.goto(site)
    page.locator("a[href*='/floor/']").first.click()
    rows = page.locator("[data-athlete]").evaluate_all("rows => rows.map((row) => row.dataset.athlete)")
    for athlete in rows[::3]:
        page.locator(f"[data-athlete='{athlete}'] [data-act=came]").click()
    page.wait_for_timeout(SETTLED_MS)
    page.evaluate("() => scrollTo({ top: 0 })")
    page.screenshot(path=FOLDER / "floor.png")
    page.get_by_role("link", name="Clock", exact=True).click()
    page.get_by_role("button", name="Start the clock").click()
    screen.goto(wall)
    screen.wait_for_timeout(RUNS_MS)
    screen.screenshot(path=FOLDER / "wall.png")
    page.get_by_text("End the class early").click()
    page.get_by_role("button", name="End it now").click()
    page.wait_for_timeout(SETTLED_MS)


def take(page, address: str, name: str) -> None:
    page.goto(address)
    page.wait_for_load_state("networkidle")
    page.screenshot(path=FOLDER / f"{name}.png")


if __name__ == "__main__":
    main(*sys.argv[1:])
