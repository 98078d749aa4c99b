import re
from datetime import time

from django import forms

from sessions.models import Circuit, PlannedSession, Week

MOST_HOURS = 12


class HoursField(forms.CharField):
    """Class times as people write them: “06:00, 07:30 18.00” → sorted times."""

    def to_python(self, value: str) -> list[time]:
        hours = []
        for word in re.split(r"[,;\s]+", super().to_python(value).strip()):
            match = re.fullmatch(r"(\d{1,2})[:.h](\d{2})", word)
            if word and not (match and int(match[1]) < 24 and int(match[2]) < 60):
                raise forms.ValidationError(f"“{word}” is no time of day. Write class times like 06:00, 18:30.")
            if match:
                hours.append(time(int(match[1]), int(match[2])))
        if len(hours) > MOST_HOURS:
            raise forms.ValidationError(f"At most {MOST_HOURS} class times a day. Take some out.")
        return sorted(set(hours))

    def prepare_value(self, value):
        return value if isinstance(value, str) or value is None else ", ".join(f"{hour:%H:%M}" for hour in value)


class PlannedSessionForm(forms.ModelForm):
    """A circuit on a day. The week and the key belong to the page, not to what is typed."""

    hours = HoursField(label="class times", help_text="Like 06:00, 18:30. In the gym's own time.")

    class Meta:
        model = PlannedSession
        fields = ["weekday", "circuit", "intent", "note"]
        labels = {"note": "note for the day"}

    field_order = ["weekday", "circuit", "hours", "intent", "note"]

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
