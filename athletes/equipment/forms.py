import uuid

from django import forms

from athletes.equipment.loads import LoadField, LoadsField, PlatesField
from athletes.equipment.write import MEASURED
from athletes.fields import DayInput, MomentInput, PlainNumbers
from athletes.models import AirReading, LeverReading, Machine, MachineType, Rack
from athletes.models.movement import Engine

COUNTED = ("kcal_base", "kcal_slope")


class MachineTypeForm(PlainNumbers, forms.ModelForm):
    class Meta:
        model = MachineType
        fields = ["name", "engine", "lever_most", "setting_advice", "kcal_base", "kcal_slope"]
        help_texts = {"engine": "None for places without a monitor, such as a rig or a lane."}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["engine"].choices = [("", "none"), *Engine.choices]

    def usual(self) -> list:
        return [field for field in self.visible_fields() if field.name not in COUNTED]

    def advanced(self) -> list:
        """How its monitor turns power into calories."""
        return [self[name] for name in COUNTED]

    def advanced_errors(self) -> bool:
        return any(self[name].errors for name in COUNTED)


DRAG_BOUNDS = {"min_value": 40, "max_value": 300}


class LeverReadingForm(forms.ModelForm):
    """What one machine's monitor showed at a lever; machines by their number."""

    machine = forms.ModelChoiceField(Machine.objects.none(), label="machine", empty_label=None)
    # Made with the page: sending the page twice keeps one reading.
    key = forms.UUIDField(initial=uuid.uuid4, widget=forms.HiddenInput)

    class Meta:
        model = LeverReading
        fields = ["machine", "lever", "drag", "taken_on"]
        widgets = {"taken_on": DayInput()}
        labels = {"taken_on": "day"}

    def __init__(self, *args, type: MachineType, **kwargs):
        super().__init__(*args, **kwargs)
        machine, lever = self.fields["machine"], self.fields["lever"]
        machine.queryset = type.machines.filter(active=True).select_related("type")
        machine.label_from_instance = lambda machine: f"number {machine.number}"
        # After one reading comes the next: of the same machine, at another lever.
        lever.widget.attrs.update(min=1, max=type.lever_most, autofocus=bool(self.initial.get("machine")))


class TargetDragForm(forms.Form):
    """The drag factor that someone wants to row or ski with."""

    drag = forms.FloatField(label="drag factor wanted", required=False, **DRAG_BOUNDS)

    def target(self) -> float | None:
        return self.cleaned_data.get("drag") if self.is_valid() else None


class RackForm(forms.ModelForm):
    """Loads of one kind that the gym owns: fixed ones, or a bar with its plates."""

    loads = LoadsField(
        label="fixed loads",
        required=False,
        help_text="Kettlebells, dumbbells, sandbags: 8, 12, 16. In pounds with the unit: 35 lb; kept in kilograms.",
    )
    bar_kg = LoadField(label="empty bar", required=False, help_text="What it weighs: 20, or 45 lb. Only for a bar.")
    pairs = PlatesField(
        label="plates in pairs",
        required=False,
        help_text="One plate times the pairs that one bar can have: 20 × 4, 15 × 2, 2.5 × 2. An x will do.",
    )

    class Meta:
        model = Rack
        fields = ["name", "loads", "bar_kg", "pairs"]
        help_texts = {"name": "As the room calls them: Kettlebells, Light bar."}
        error_messages = {"name": {"unique": "Loads of this name are listed already. Change those, or rename these."}}


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
