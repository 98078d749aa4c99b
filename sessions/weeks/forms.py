from django import forms

from athletes.fields import ClassTimesField
from sessions.models import Circuit, PlannedSession, Week

SCOPES = [("this", "this one"), ("following", "this and the following"), ("all", "all of the build to come")]


class PlannedSessionForm(forms.ModelForm):
    """A circuit on a day. The week and the key belong to the page, not to what is typed."""

    hours = ClassTimesField(label="class times", help_text="Like 06:00, 18:30. In the gym's own time.")
    note_stays = forms.BooleanField(label="The warm-up and notes fit the new circuit too", required=False)
    scope = forms.ChoiceField(label="change", choices=SCOPES, required=False, widget=forms.RadioSelect, initial="this")
    version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    class Meta:
        model = PlannedSession
        fields = ["weekday", "circuit", "rotations", "intent", "note", "wbgt_c"]
        labels = {"note": "note for the day", "wbgt_c": "expected heat, WBGT [°C]"}
        help_texts = {"rotations": "Empty: as the circuit is written."}

    field_order = ["weekday", "circuit", "rotations", "hours", "intent", "note", "note_stays", "wbgt_c", "scope"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        current = self.instance.circuit_id
        self.fields["circuit"].empty_label = "Choose …"
        self.fields["circuit"].queryset = Circuit.objects.filter(archived=False) | Circuit.objects.filter(pk=current)
        self.before = {name: getattr(self.instance, name) for name in ("circuit_id", "note", "version", "build_id")}
        if self.instance.pk:
            self.initial.setdefault("hours", [hour.starts_at for hour in self.instance.hours.all()])
            self.initial["version"] = self.instance.version
        if not self.instance.build_id:
            del self.fields["scope"]
        if not self._new_circuit():
            del self.fields["note_stays"]

    def _new_circuit(self) -> bool:
        """Whether a circuit takes the place of the one that the note was written for."""
        if not self.instance.pk:
            return False
        typed = self.data.get("circuit", "")
        written = self.before["note"] or any(part.words for part in self.instance.parts.all())
        return bool(written and typed not in ("", str(self.before["circuit_id"])))

    def clean(self) -> dict:
        found = super().clean()
        if "note_stays" in self.fields and found.get("note") == self.before["note"] and not found.get("note_stays"):
            words = "This was written for another circuit. Say that it fits, or write another one."
            self.add_error("note_stays", words)
        if self.instance.pk and found.get("version") != self.before["version"]:
            raise forms.ValidationError(self._somebody_else())
        return found

    def _somebody_else(self) -> str:
        """What stands now, beside what was typed here."""
        now = PlannedSession.objects.select_related("circuit").get(pk=self.instance.pk)
        times = ", ".join(f"{hour.starts_at:%H:%M}" for hour in now.hours.all()) or "no class time"
        day, note = now.get_weekday_display(), f", “{now.note}”" if now.note else ""
        self.data = {**self.data.dict(), "version": now.version}
        return (
            f"Somebody changed this session meanwhile. It says now: {day}, {now.circuit}, {times}, {now.intent}{note}. "
            "What you typed stands below; save again to put it in its place."
        )


class WeekForm(forms.ModelForm):
    class Meta:
        model = Week
        fields = ["note"]
        labels = {"note": "a line for everyone this week"}
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}
