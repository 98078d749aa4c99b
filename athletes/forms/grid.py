import json

from django import forms

from athletes.parsing import LONGEST
from athletes.services.grid import Write


class CellForm(forms.Form):
    """{"athlete", "benchmark", "key", "typed", "base", "confirmed"}: one cell, as a page sends it."""

    athlete = forms.IntegerField(min_value=1, max_value=2**31)
    benchmark = forms.IntegerField(min_value=1, max_value=2**31)
    key = forms.UUIDField()
    typed = forms.CharField(max_length=LONGEST, required=False)
    base = forms.IntegerField(min_value=0, max_value=2**62)
    confirmed = forms.BooleanField(required=False)

    def write(self) -> Write:
        said = self.cleaned_data
        return Write(said["key"], said["typed"], said["base"], said["confirmed"])


def cell_form(body: bytes) -> CellForm:
    """The form of a JSON document; an empty one, which is not valid, for anything else."""
    try:
        document = json.loads(body)
    except ValueError:
        document = None
    return CellForm(document if isinstance(document, dict) else {})
