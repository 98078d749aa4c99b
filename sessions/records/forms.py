from django import forms

from athletes.importing.sheets.names import name_key
from athletes.models import Athlete


class EraseForm(forms.Form):
    """The name once more, so that nobody is erased by a slip."""

    name = forms.CharField(
        label="name of the athlete", max_length=80, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )

    def __init__(self, *args, athlete: Athlete, **kwargs):
        super().__init__(*args, **kwargs)
        self.athlete = athlete

    def clean_name(self) -> str:
        if name_key(self.cleaned_data["name"]) != name_key(self.athlete.name):
            raise forms.ValidationError(f"Type “{self.athlete.name}” to erase this athlete.")
        return self.cleaned_data["name"]
