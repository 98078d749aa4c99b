import uuid

from django import forms

from athletes.forms.fields import MomentInput, PlainNumbers
from athletes.models import AirReading
from athletes.services.air import MEASURED

OF_FANS = ("temperature_c", "humidity_percent", "pressure_hpa")
OF_PEOPLE = ("wbgt_c", "taken_at")


class AirReadingForm(PlainNumbers, forms.ModelForm):
    """What was measured of the air, and when; without a time it is now."""

    taken_at = forms.DateTimeField(label="when", required=False, widget=MomentInput(), help_text="Empty: now.")
    # Made with the page: sending the page twice keeps one reading.
    key = forms.UUIDField(initial=uuid.uuid4, widget=forms.HiddenInput)

    class Meta:
        model = AirReading
        fields = [*MEASURED]
        labels = {"pressure_hpa": "air pressure [hPa]"}
        help_texts = {
            "temperature_c": "In the room, away from sun and doors.",
            "humidity_percent": "Empty: 50 % is taken.",
        }

    field_order = [*OF_FANS, *OF_PEOPLE]

    def clean(self) -> dict:
        cleaned = super().clean()
        tried = {"temperature_c", "wbgt_c"} & set(self.errors)
        if not tried and cleaned["temperature_c"] is None and cleaned["wbgt_c"] is None:
            self.add_error("temperature_c", "Give a temperature, or a wet-bulb globe temperature, or both.")
        return cleaned

    def measured(self) -> dict:
        return {name: self.cleaned_data[name] for name in MEASURED}

    def rows(self) -> list[list]:
        """The fields that stand side by side."""
        return [[self[name] for name in names] for names in (OF_FANS, OF_PEOPLE)]
