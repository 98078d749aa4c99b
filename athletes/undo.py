"""What a person just did, said with the button that takes it back."""

from collections.abc import Mapping

from django.contrib import messages
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.utils.safestring import mark_safe


def done(request: HttpRequest, words: str, undo: str, fields: Mapping[str, object]) -> None:
    """A message on the next page: `words`, and a button that posts `fields` to the address `undo`."""
    values = {name: value if isinstance(value, list) else [value] for name, value in fields.items()}
    # As text: a template would write a day in words
    pairs = [(name, str(one)) for name, several in values.items() for one in several]
    context = {"words": words, "undo": undo, "fields": pairs}
    messages.success(request, mark_safe(render_to_string("parts/undo.html", context, request)))
