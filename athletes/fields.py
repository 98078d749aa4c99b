"""Kinds of fields that several forms share."""

import json
import re
from datetime import time
from typing import Any

from django import forms
from django.utils.text import slugify

MOST_CLASS_TIMES = 12


def from_json(body: bytes) -> Any:
    """What was sent as JSON; ValueError for what cannot be read, also because it is nested too deeply."""
    try:
        return json.loads(body)
    except RecursionError:
        raise ValueError("nested too deeply") from None


class DayInput(forms.DateInput):
    """A date as the browser's own calendar understands it."""

    input_type = "date"

    def __init__(self, attrs=None):
        super().__init__(attrs=attrs, format="%Y-%m-%d")


class MomentInput(forms.DateTimeInput):
    """A day and a time of day as the browser's own picker understands them, in the gym's time."""

    input_type = "datetime-local"

    def __init__(self, attrs=None):
        super().__init__(attrs=attrs, format="%Y-%m-%dT%H:%M")


def lines(rows: int = 3) -> forms.Textarea:
    return forms.Textarea(attrs={"rows": rows})


class PlainNumbers:
    """For forms: whole numbers appear without a decimal point."""

    def get_initial_for_field(self, field, field_name):
        value = super().get_initial_for_field(field, field_name)
        return int(value) if isinstance(value, float) and value.is_integer() else value


class PercentField(forms.FloatField):
    """A share of one, typed and shown in percent."""

    def __init__(self, *, least: float, most: float, **kwargs):
        super().__init__(min_value=least, max_value=most, step_size=None, **kwargs)

    def prepare_value(self, value):
        return value if isinstance(value, str) or value is None else f"{round(value * 100, 1):g}"

    def clean(self, value):
        percent = super().clean(value)
        return None if percent is None else percent / 100

    def has_changed(self, initial, data) -> bool:
        return super().has_changed(self.prepare_value(initial), data)


class ClassTimesField(forms.CharField):
    """Class times as people write them, sorted: “18.30, 6:00 7h15” → 06:00, 07:15, 18:30."""

    def to_python(self, value) -> list[time]:
        times = {_time_of(word) for word in re.split(r"[,;\s]+", super().to_python(value)) if word}
        if len(times) > MOST_CLASS_TIMES:
            raise forms.ValidationError(f"At most {MOST_CLASS_TIMES} class times a day. Take some out.")
        return sorted(times)

    def prepare_value(self, value):
        return value if isinstance(value, str) or value is None else ", ".join(f"{hour:%H:%M}" for hour in value)


def _time_of(word: str) -> time:
    match = re.fullmatch(r"(\d{1,2})[:.h](\d{2})", word)
    if not match or int(match[1]) > 23 or int(match[2]) > 59:
        raise forms.ValidationError(f"“{word}” is no time of day. Write class times like 06:00, 18:30.")
    return time(int(match[1]), int(match[2]))


def whole_number(text: str) -> int | None:
    """The number in what a button or an address sent; None for anything else, and for more digits than any has here."""
    return int(text) if text.isdecimal() and len(text) < 10 else None


def free_slug(model, name: str) -> str:
    """A slug made of `name` that no row of `model` has yet."""
    base = slugify(name)[:50] or model.__name__.lower()
    taken = set(model.objects.filter(slug__startswith=base).values_list("slug", flat=True))
    return base if base not in taken else next(s for n in range(2, 10_000) if (s := f"{base}-{n}") not in taken)
