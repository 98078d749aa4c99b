from django import forms

from athletes.forms.fields import PlainNumbers
from athletes.models import MachineType
from athletes.models.movement import Engine


class MachineTypeForm(PlainNumbers, forms.ModelForm):
    class Meta:
        model = MachineType
        fields = ["name", "engine", "lever_most", "setting_advice", "kcal_base", "kcal_slope"]
        help_texts = {"engine": "None for places without a monitor, such as a rig or a lane."}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["engine"].choices = [("", "none"), *Engine.choices]
