import uuid

from django import forms

from athletes.formatting import dose_text, load_text
from athletes.models import Athlete
from sessions.models import Pin

REST = "rest"


class PinForm(forms.Form):
    """A target set by hand: one of the station's movements or rest, how much of it, and why."""

    # Made with the page: sending the page twice keeps one pin.
    key = forms.UUIDField(initial=uuid.uuid4, widget=forms.HiddenInput)
    rung = forms.ChoiceField(label="movement", widget=forms.RadioSelect)
    dose = forms.FloatField(required=False, min_value=0, help_text="In the unit of the movement. Nothing for rest.")
    load_kg = forms.FloatField(
        label="load [kg]", required=False, min_value=0, help_text="Of a loaded movement; empty: as it is written."
    )
    reason = forms.CharField(max_length=200, help_text="Kept with your name, for whoever looks at it next.")

    def __init__(self, *args, station: dict, **kwargs):
        super().__init__(*args, **kwargs)
        self.station = station
        written = [(str(rung), _rung_text(option)) for rung, option in enumerate(station["options"])]
        self.fields["rung"].choices = [*written, (REST, "Rest at this station")]
        if not any(option["load_kg"] for option in station["options"]):
            del self.fields["load_kg"]

    def clean(self) -> dict:
        cleaned = super().clean()
        rung, dose = cleaned.get("rung"), cleaned.get("dose")
        if rung and rung != REST and not dose and "dose" not in self.errors:
            self.add_error("dose", "Say how much, or choose rest.")
        return cleaned

    def pin(self, *, session_key: uuid.UUID, athlete: Athlete, station: int, by) -> Pin:
        """The pin that was typed in, not saved yet."""
        cleaned, rung = self.cleaned_data, self.cleaned_data["rung"]
        option = None if rung == REST else self.station["options"][int(rung)]
        return Pin(
            key=cleaned["key"],
            session_key=session_key,
            athlete=athlete,
            station=station,
            movement_id=option["movement"]["id"] if option else None,
            dose=cleaned["dose"] if option else 0,
            load_kg=(cleaned.get("load_kg") or option["load_kg"]) if option else None,
            reason=cleaned["reason"],
            made_by=by,
        )


def _rung_text(option: dict) -> str:
    load = f", {load_text(option['load_kg'])}" if option["load_kg"] else ""
    written = dose_text(option["dose_kind"], option["dose"])
    return f"{option['movement']['name']}{load} (written: {written})"
