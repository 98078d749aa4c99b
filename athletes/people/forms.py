import uuid

from django import forms

from athletes.capacity.constants import PATTERNS
from athletes.fields import DayInput, PlainNumbers, lines
from athletes.gym.read import today
from athletes.models import Athlete, Limitation, Movement, Override
from athletes.people.write import LONGEST, LONGEST_CONSENT


class AthleteForm(PlainNumbers, forms.ModelForm):
    class Meta:
        model = Athlete
        fields = [
            "name", "board_name", "born", "sex", "body_mass_kg", "load_unit", "joined_on", "returned_on", "active",
            "note", "guardian", "guardian_contact", "guardian_agreed_on",
        ]  # fmt: skip
        widgets = {"born": DayInput(), "joined_on": DayInput(), "returned_on": DayInput(), "note": lines()}
        widgets |= {"guardian_agreed_on": DayInput()}
        labels = {"joined_on": "joined on", "active": "Takes part"}
        help_texts = {
            "board_name": "Short, as the room knows this athlete; shown on wall and paper. Empty: the first name.",
            "body_mass_kg": "Private to staff and the athlete. Helps the first guess.",
            "joined_on": "Only where it is known: four gentle weeks start on it. Empty for who has trained before.",
            "active": "Gets targets and stands on the board.",
        }
        error_messages = {
            "board_name": {"unique": "Someone else has this name on the board. Add an initial or use a nickname."}
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["board_name"].required = False

    def clean(self) -> dict:
        cleaned = super().clean()
        if not cleaned.get("board_name") and cleaned.get("name"):
            cleaned["board_name"] = cleaned["name"].split()[0][:24]
        return cleaned


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


CAUTION_WORDS = [
    (Override.Caution.EXPOSURE, "Amount of a new movement"),
    (Override.Caution.RETURN, "First weeks, or back after a break"),
    (Override.Caution.NO_TARGET, "Release targets"),
]


class OverrideForm(forms.ModelForm):
    """Which caution is set aside for an athlete, from today until when, and why."""

    # Made with the page: sending the page twice keeps one override.
    key = forms.UUIDField(initial=uuid.uuid4, widget=forms.HiddenInput)

    class Meta:
        model = Override
        fields = ["caution", "movement", "ends_on", "reason"]
        widgets = {"caution": forms.RadioSelect(), "ends_on": DayInput()}
        labels = {"caution": "which caution", "movement": "of which movement", "reason": "why"}
        help_texts = {
            "movement": "Only for the amount of a new movement.",
            "ends_on": f"That day included, at most {LONGEST.days} days ahead; targets of a minor up to a year.",
            "reason": "Kept with your name, and seen by all staff. No diagnosis.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["caution"].choices = CAUTION_WORDS
        self.fields["movement"].queryset = Movement.objects.filter(archived=False, high_eccentric=True)
        self.fields["movement"].empty_label = "all that make sore"
        self.fields["ends_on"].widget.attrs.update(min=today().isoformat(), max=(today() + LONGEST_CONSENT).isoformat())
