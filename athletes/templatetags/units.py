"""Filters for numbers, loaded into every template. The words are made in athletes.words."""

from datetime import date, datetime

from django import template
from django.utils import timezone
from django.utils.html import format_html

from athletes import words as formatting

register = template.Library()

register.filter("plain", formatting.number)
register.filter("percent", formatting.percent)
register.filter("load", formatting.load_text)


@register.filter
def dose_of(option) -> str:
    """What an option of a circuit or of its definition asks for."""
    if option.load_kg is None and (option.percent or option.reserve is not None):
        load = f"{formatting.number(option.percent)} %" if option.percent else f"{option.reserve:g} in reserve"
        return f"{formatting.number(option.dose, 0)} × {load}"
    return formatting.dose_text(option.dose_kind, option.dose, option.load_kg)


@register.filter
def day(of: date | None) -> str:
    """A day in words, seen from today in the gym's own time (coachhub.gym_time); of a moment, the day it was there."""
    of = timezone.localdate(of) if isinstance(of, datetime) else of
    return formatting.day(of, timezone.localdate())


@register.filter
def moment(of: datetime) -> str:
    """A moment in words, in the gym's own time: 14:05 of today, 23 Nov 14:05 of an earlier day."""
    there = timezone.localtime(of)
    written = day(of)
    return f"{there:%H:%M}" if written == "today" else f"{written} {there:%H:%M}"


@register.filter
def ago(of: date | None) -> str:
    return formatting.ago(of, timezone.localdate())


@register.filter
def result(effort, unit: str = "kg") -> str:
    """What an effort says, as figure and unit; `unit` for loads. The benchmark must be loaded with the effort."""
    if effort is None:
        return formatting.NOTHING
    parts = formatting.result_parts(effort.benchmark.measure, effort.value, effort.repetitions, unit)
    return _with_unit(*parts)


@register.simple_tag
def dose(kind: str, amount: float, load_kg: float | None = None) -> str:
    """{% dose target.kind target.dose target.load_kg %}"""
    return _with_unit(*formatting.dose_parts(kind, amount, load_kg))


@register.simple_tag
def figure(value, unit: str = "") -> str:
    """{% figure 71.5 "kg" %}: any number with its unit; text is taken as it is."""
    return _with_unit(value if isinstance(value, str) else formatting.number(value), unit)


def _with_unit(value: str, unit: str) -> str:
    if not unit:
        return format_html('<span class="figure">{}</span>', value)
    return format_html('<span class="figure">{}</span> <span class="unit">{}</span>', value, unit)


@register.filter
def concat(first, second) -> str:
    """Two values written together, for names of fields."""
    return f"{first}{second}"


@register.filter
def iso_day(text: str) -> str:
    """2026-11-25 → Wednesday 25 Nov, for days that come from frozen pages."""
    of = date.fromisoformat(text)
    return f"{of:%A} {of.day} {of:%b}"


@register.filter
def unit_word(kind: str) -> str:
    """The unit of a dose kind (sessions.models.circuit.DoseKind) where several doses are spoken of."""
    return {"kcal": "kcal", "metres": "m", "seconds": "s"}.get(kind, "repetitions")
