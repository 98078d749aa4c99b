import uuid

from django import forms

from athletes.forms.fields import DayInput
from athletes.models import LeverReading, Machine, MachineType

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
