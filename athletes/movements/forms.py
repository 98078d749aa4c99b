from django import forms

from athletes.capacity.constants import PATTERNS
from athletes.fields import PlainNumbers, free_slug, lines
from athletes.models import Movement
from athletes.models.movement import Engine

ADVANCED = ["typical_spread"]
CUES = ["cue_set_up", "cue_drive", "cue_recovery", "look_for", "caution"]


class CueForm(PlainNumbers, forms.ModelForm):
    """What staff may change: the words on the station's card."""

    class Meta:
        model = Movement
        fields = CUES
        widgets = {name: lines(2) for name in CUES}
        help_texts = {
            "cue_set_up": "Before the first stroke or repetition.",
            "cue_drive": "The work itself.",
            "cue_recovery": "The way back.",
            "look_for": "Common faults, and what they show.",
            "caution": "Shown beside every target of this movement.",
        }


class MovementForm(CueForm):
    """Everything about a movement, for coaches: the technical fields decide how targets come out."""

    class Meta(CueForm.Meta):
        fields = [
            "name", "other_names", "kind", "engine", "machine_type", "rack", "setup_s", "seconds_per_repetition",
            "typical_best", "typical_spread", "paced", "needs_skill", "high_eccentric", "introductory", "easier_form",
            "archived", *CUES,
        ]  # fmt: skip
        labels = {
            "rack": "loads owned for it",
            "typical_spread": "how far people differ from that guess",
            "paced": "paced by breath and rhythm",
            "needs_skill": "needs skill",
            "high_eccentric": "makes sore",
            "easier_form": "its easier form",
            "introductory": "introductory amount [repetitions]",
        }
        help_texts = {
            **CueForm.Meta.help_texts,
            "engine": "Only for machines and runs.",
            "typical_spread": "0.5: one in three has less than two thirds of it, or more than one and a half times.",
            "machine_type": "Of which there are only so many on the floor.",
            "rack": "Only for load × repetitions. None: loads go in steps of 2.5 kg.",
            "introductory": "Only counts for what makes sore: the most in a session for someone new to it.",
            "archived": "No longer offered; circuits that use it keep it.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["kind"].choices = [("", "Choose a kind"), *Movement.Kind.choices]
        self.fields["engine"].choices = [("", "none"), *Engine.choices]
        self.fields["easier_form"].queryset = Movement.objects.filter(archived=False).exclude(pk=self.instance.pk)
        self.fields["easier_form"].empty_label = "none"
        self.fields["machine_type"].empty_label = self.fields["rack"].empty_label = "none"
        self.fields["introductory"].required = False  # it has a value to begin with, and most movements need none
        for pattern in PATTERNS:
            self.fields[f"loads_{pattern}"] = forms.FloatField(
                label=pattern.replace("_", " "),
                min_value=0,
                max_value=1,
                required=False,
                initial=self.instance.involvement.get(pattern),
                widget=forms.NumberInput(attrs={"step": "0.1"}),
            )
        if not self.instance.pk:
            del self.fields["archived"]

    def clean(self) -> dict:
        cleaned = super().clean()
        weights = {pattern: cleaned.get(f"loads_{pattern}") for pattern in PATTERNS}
        self.instance.involvement = {pattern: weight for pattern, weight in weights.items() if weight}
        return cleaned

    def clean_introductory(self) -> int:
        typed = self.cleaned_data["introductory"]
        return self.instance.introductory if typed is None else typed

    def loads(self) -> list:
        return [self[f"loads_{pattern}"] for pattern in PATTERNS]

    def technical(self) -> list:
        """The fields before the cues; the patterns stand in a row of their own."""
        apart = {*CUES, *ADVANCED}
        return [field for field in self.visible_fields() if field.name not in apart and "loads_" not in field.name]

    def advanced(self) -> list:
        """What hardly anybody changes."""
        return [self[name] for name in ADVANCED]

    def cues(self) -> list:
        return [self[name] for name in CUES]

    def save(self, commit: bool = True) -> Movement:
        if not self.instance.slug:
            self.instance.slug = free_slug(Movement, self.instance.name)
        return super().save(commit)
