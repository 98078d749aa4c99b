import uuid

from django import forms

from athletes.models import Athlete
from athletes.words import dose_text, load_text
from sessions.circuits.definition import Option, Station
from sessions.models import Pin, Target

REST = "rest"


class PinForm(forms.Form):
    """A target set by hand: one of the station's movements or rest, how much of it, and why."""

    use_required_attribute = False  # a rest needs no dose

    # Made with the page: sending the page twice keeps one pin.
    key = forms.UUIDField(initial=uuid.uuid4, widget=forms.HiddenInput)
    # What it began with: a load that was left as it was does not go along to another movement.
    began = forms.CharField(max_length=200, required=False, widget=forms.HiddenInput)
    rung = forms.ChoiceField(label="movement", widget=forms.RadioSelect)
    dose = forms.FloatField(
        min_value=0,
        help_text="In the unit of the movement. Needed, unless you choose rest.",
        error_messages={"required": "Say how much, or choose rest."},
    )
    load_kg = forms.FloatField(
        label="load [kg]", required=False, min_value=0, help_text="Of a loaded movement; empty: as it is written."
    )
    reason = forms.CharField(max_length=200, help_text="Kept with your name, for whoever looks at it next.")

    def __init__(self, *args, station: Station, **kwargs):
        super().__init__(*args, **kwargs)
        self.station = station
        written = [(str(rung), _rung_text(option)) for rung, option in enumerate(station.options)]
        self.fields["rung"].choices = [*written, (REST, "Rest at this station")]
        if not any(option.load_kg for option in station.options):
            del self.fields["load_kg"]

    def clean(self) -> dict:
        cleaned = super().clean()
        if cleaned.get("rung") == REST:
            self.errors.pop("dose", None)
        elif cleaned.get("dose") == 0:
            self.add_error("dose", "Say how much, or choose rest.")
        return cleaned

    def pin(self, *, session_key: uuid.UUID, athlete: Athlete, station: int, by) -> Pin:
        """The pin that was typed in, not saved yet."""
        cleaned, rung = self.cleaned_data, self.cleaned_data["rung"]
        option = None if rung == REST else self.station.options[int(rung)]
        return Pin(
            key=cleaned["key"],
            session_key=session_key,
            athlete=athlete,
            station=station,
            movement_id=option.movement.id if option else None,
            dose=cleaned["dose"] if option else 0,
            load_kg=self._load(option) if option else None,
            reason=cleaned["reason"],
            made_by=by,
        )

    def _load(self, option: Option) -> float | None:
        rung, load_kg = self.cleaned_data["rung"], self.cleaned_data.get("load_kg")
        began_rung, _, began_load = self.cleaned_data["began"].partition(" ")
        if began_rung and rung != began_rung and began_load == str(load_kg):
            return option.load_kg
        return load_kg or option.load_kg


def start_of(target: Target | None) -> dict:
    """The form's first contents: what stands at the station, nothing where nothing does."""
    if target is None:
        return {}
    rung = REST if target.rung < 0 else str(target.rung)
    dose = None if target.rung < 0 else f"{target.dose:g}"
    return {
        "rung": rung,
        "dose": dose,
        "load_kg": None if target.load_kg is None else f"{target.load_kg:g}",
        "began": f"{rung} {target.load_kg}",
    }


def _rung_text(option: Option) -> str:
    load = f", {load_text(option.load_kg)}" if option.load_kg else ""
    written = dose_text(option.dose_kind, option.dose)
    return f"{option.movement.name}{load} (written: {written})"
