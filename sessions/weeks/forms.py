from django import forms

from athletes.fields import ClassTimesField
from sessions.models import Circuit, PlannedSession, Week


class PlannedSessionForm(forms.ModelForm):
    """A circuit on a day. The week and the key belong to the page, not to what is typed."""

    hours = ClassTimesField(label="class times", help_text="Like 06:00, 18:30. In the gym's own time.")

    class Meta:
        model = PlannedSession
        fields = ["weekday", "circuit", "intent", "note", "wbgt_c"]
        labels = {"note": "note for the day"}

    field_order = ["weekday", "circuit", "hours", "intent", "note", "wbgt_c"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        current = self.instance.circuit_id
        self.fields["circuit"].empty_label = "Choose …"
        self.fields["circuit"].queryset = Circuit.objects.filter(archived=False) | Circuit.objects.filter(pk=current)
        if self.instance.pk:
            self.initial.setdefault("hours", [hour.starts_at for hour in self.instance.hours.all()])


class WeekForm(forms.ModelForm):
    class Meta:
        model = Week
        fields = ["note"]
        labels = {"note": "a line for everyone this week"}
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}
