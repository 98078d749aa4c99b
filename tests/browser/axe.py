"""Asks axe-core what a page fails of WCAG 2.2 AA."""

from pathlib import Path

from playwright.sync_api import Page

SOURCE = (Path(__file__).parent / "vendor" / "axe-4.14.1.min.js").read_text()
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
ALL = {"runOnly": {"type": "tag", "values": TAGS}, "rules": {"target-size": {"enabled": True}}}
# What other colours can change.
COLOURS = {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}


def findings(page: Page, options: dict = ALL) -> list[str]:
    """One line for each rule that the page breaks, with the places where it does."""
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(SOURCE)
    found = page.evaluate("(options) => axe.run({...options, resultTypes: ['violations']})", options)
    return [_line(page.url, violation) for violation in found["violations"]]


def findings_in_both_schemes(page: Page) -> list[str]:
    light = findings(page)
    page.emulate_media(color_scheme="dark")
    dark = findings(page, COLOURS)
    page.emulate_media(color_scheme="light")
    return light + [f"dark: {line}" for line in dark]


def _line(url: str, violation: dict) -> str:
    places = ", ".join(str(node["target"]) for node in violation["nodes"][:4])
    return f"{url} {violation['id']}: {violation['help']}; {len(violation['nodes'])} times, at {places}"
