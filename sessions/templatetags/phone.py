"""For the athlete's own pages: numbers twice, for the eye and as they are said, and figures of forms."""

from django import template
from django.utils.html import format_html

from athletes.words import NOTHING, clock, load_parts, result_parts
from sessions.words.spoken import said

register = template.Library()
EACH_ROUND = {"kcal": "kcal in each", "metres": "m in each", "seconds": "s in each"}


@register.simple_tag
def spoken(figure: str, unit: str = "") -> str:
    """{% spoken "7:42.3" %}: the figure with its unit, and in words for a screen reader."""
    if figure == NOTHING:
        return figure
    shown = format_html('<span class="figure">{}</span> <span class="unit">{}</span>', figure, unit)
    return format_html(
        '<span aria-hidden="true">{}</span><span class="visually-hidden">{}</span>', shown, said(figure, unit)
    )


@register.simple_tag
def spoken_result(effort, unit: str = "kg") -> str:
    """What an effort says, loads in `unit`; the benchmark must be loaded with it."""
    return spoken(*result_parts(effort.benchmark.measure, effort.value, effort.repetitions, unit))


@register.filter
def each_round(kind: str) -> str:
    """What the dose of a round is called where it is typed, by its kind (sessions.models.circuit.DoseKind)."""
    return EACH_ROUND.get(kind, "Repetitions in each")


@register.filter
def time_figure(seconds: float | str) -> str:
    """Minutes and seconds as they stand in a field."""
    return clock(float(seconds), tenths=False)


@register.filter
def load_figure(load_kg: float | None, unit: str) -> str:
    """A load as it stands in a field, in the athlete's unit."""
    return "" if load_kg is None else load_parts(load_kg, unit)[0]


@register.simple_tag
def posted(typed, name: str) -> str:
    """What was typed into a field whose name is made up on the page."""
    return typed.get(name, "")
