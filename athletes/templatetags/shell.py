"""Tags of the page shell: which of the seven areas a page belongs to, and codes for phones."""

import segno
from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

register = template.Library()

# The beginning of a page's name decides its area; the first that fits counts.
AREAS = [
    ("gym-archive", "gym"),
    ("sessions:erase", "athletes"),
    ("athletes:benchmark", "benchmarks"),
    ("athletes:test-day", "benchmarks"),
    ("athletes:grid", "benchmarks"),
    ("sessions:retests", "benchmarks"),
    ("sessions:progress-athlete", "athletes"),
    ("sessions:progress", "benchmarks"),
    ("athletes:movement", "movements"),
    ("athletes:gym", "gym"),
    ("athletes:account", "gym"),
    ("athletes:machine", "gym"),
    ("athletes:lever", "gym"),
    ("athletes:rack", "gym"),
    ("athletes:air", "gym"),
    ("athletes:screen-link", "gym"),
    ("athletes:audit", "gym"),
    ("athletes:", "athletes"),
    ("sessions:first-hour", "gym"),
    ("sessions:circuit", "circuits"),
    ("sessions:build", "circuits"),
    ("sessions:", "week"),
    ("this-week", "week"),
    ("home", "today"),
]


def area_of(view_name: str) -> str:
    """The area of a page, or nothing for pages outside the seven."""
    return next((area for start, area in AREAS if view_name.startswith(start)), "")


@register.simple_tag(takes_context=True)
def current(context, area: str) -> str:
    """Mark the link of the area that the page belongs to; for screen readers too."""
    return _mark(area_of(_view_name(context)) == area)


@register.simple_tag(takes_context=True)
def current_page(context, *view_names: str) -> str:
    """The same for a link to one page inside an area."""
    return _mark(_view_name(context) in view_names)


def _view_name(context) -> str:
    match = getattr(context.get("request"), "resolver_match", None)
    return match.view_name if match else ""


def _mark(here: bool) -> str:
    return SafeString('aria-current="page"') if here else ""


@register.simple_tag
def qr(address: str, label: str) -> str:
    """A code that opens `address`, drawn in the page itself; `label` says so to those who cannot see it."""
    code = segno.make(address, micro=False, error="m")
    svg = code.svg_inline(dark="#000000", border=1, omitsize=True, svgclass=None, lineclass=None)
    return format_html('<div class="qr" role="img" aria-label="{}">{}</div>', label, SafeString(svg))


@register.filter
def as_words(word: str) -> str:
    """Names of patterns as people write them: whole_body → whole body."""
    return word.replace("_", " ")
