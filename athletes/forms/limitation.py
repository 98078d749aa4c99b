import uuid

from django import forms

from athletes.capacity.constants import PATTERNS
from athletes.forms.fields import DayInput, lines
from athletes.models import Limitation, Movement

PATTERN_WORDS = {pattern: pattern.replace("_", " ") for pattern in PATTERNS}


class LimitationForm(forms.ModelForm):
    """What is out for an athlete and until when it holds."""

    patterns = forms.MultipleChoiceField(
        label="patterns that are out",
        choices=list(PATTERN_WORDS.items()),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Every movement that loads one of them is out.",
    )
    movements = forms.ModelMultipleChoiceField(
        label="single movements that are out",
        queryset=Movement.objects.filter(archived=False),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    # Made with the page: sending the page twice keeps one limitation.
    key = forms.UUIDField(initial=uuid.uuid4, widget=forms.HiddenInput)

    class Meta:
        model = Limitation
        fields = ["kind", "patterns", "movements", "starts_on", "review_on", "note"]
        widgets = {"starts_on": DayInput(), "review_on": DayInput(), "note": lines(2)}
        labels = {"starts_on": "from", "review_on": "review on"}
        help_texts = {
            "review_on": "From this day on the movements are back. Empty: until someone ends it.",
            "note": "For staff only, as little as needed. No diagnosis: that is for licensed care.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["kind"].choices = [("", "Choose a kind"), *Limitation.Kind.choices]
        self.fields["patterns"].columns = self.fields["movements"].columns = True

    def clean(self) -> dict:
        cleaned = super().clean()
        if not cleaned.get("patterns") and not cleaned.get("movements"):
            self.add_error("patterns", "Choose at least one pattern or one movement that is out.")
        starts, review = cleaned.get("starts_on"), cleaned.get("review_on")
        if starts and review and review <= starts:
            self.add_error("review_on", "The review comes after the first day. Choose a later day or leave it empty.")
        return cleaned
