"""Draws the app's icons from icon.svg; run again when the mark changes.

.venv/bin/python -m tests.browser.icons
"""

from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

from tests.browser.chromium import ARGUMENTS, shell

ROOT = Path(__file__).resolve().parents[2]
MARK = (ROOT / "coachhub/static/icon.svg").read_text()
FOLDER = ROOT / "sessions/static/sessions/phone"
# Phones cut a maskable icon to their own shape; the mark lies within the middle four fifths that always stay.
SQUARE = MARK.replace(' rx="5"', "")
ICONS = {"icon": MARK, "icon-maskable": SQUARE}


def main() -> None:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shell(), args=ARGUMENTS)
        for name, mark in ICONS.items():
            for size in (192, 512):
                page = browser.new_page(viewport={"width": size, "height": size})
                page.set_content(f"<style>body {{margin: 0}} svg {{display: block; width: {size}px}}</style>{mark}")
                picture = Image.open(BytesIO(page.screenshot(omit_background=True)))
                # Two inks and the steps between them: a palette is a fifth of the size.
                picture = picture.quantize(24, method=Image.Quantize.FASTOCTREE)
                picture.save(FOLDER / f"{name}-{size}.png", optimize=True)
        browser.close()


if __name__ == "__main__":
    main()
