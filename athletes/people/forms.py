import uuid
from contextlib import suppress

from django import forms

from athletes.capacity.constants import PATTERNS
from athletes.fields import DayInput, PlainNumbers, lines, whole_number
from athletes.gym.read import today
from athletes.models import Athlete, Limitation, Movement, Override
from athletes.people.doubles import alike
from athletes.people.write import LONGEST, LONGEST_CONSENT
from athletes.words import name_order


class AthleteForm(PlainNumbers, forms.ModelForm):
    class Meta:
        model = Athlete
        fields = [
            "name", "board_name", "born", "sex", "body_mass_kg", "load_unit", "joined_on", "returned_on",
            "leave_from", "leave_until", "active", "note", "guardian", "guardian_contact", "guardian_agreed_on",
        ]  # fmt: skip
        days = ("born", "joined_on", "returned_on", "leave_from", "leave_until", "guardian_agreed_on")
        widgets = {**{name: DayInput() for name in days}, "note": lines()}
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


class NewAthleteForm(AthleteForm):
    """Someone new, who may be here already."""

    # Made with the page: sending the page twice adds one.
    key = forms.UUIDField(initial=uuid.uuid4, widget=forms.HiddenInput, required=False)
    # Sent along once those who are alike were seen.
    another = forms.BooleanField(label="This is somebody else: add all the same", required=False)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.alike: list[Athlete] = []
        if not self.is_bound:
            del self.fields["another"]

    def clean(self) -> dict:
        cleaned = super().clean()
        self.instance.key = cleaned.get("key") or self.instance.key
        return cleaned

    def kept(self) -> Athlete | None:
        """Whom this page added before, under this name; where they were found to be another, that one."""
        with suppress(forms.ValidationError):
            key, name = (self.fields[field].clean(self.data.get(field)) for field in ("key", "name"))
            if key and (found := Athlete.everyone.filter(key=key, name=name).first()):
                return found.merged_into or found
        return None

    def doubles(self) -> list[Athlete]:
        """Who is here under nearly the same name; nobody once it was said that this is somebody else."""
        if not self.cleaned_data.get("another"):
            self.alike = alike(self.cleaned_data["name"])
        return self.alike


class MergeForm(forms.Form):
    """Who turns out to be the athlete who is kept."""

    gone = forms.ModelChoiceField(Athlete.objects.none(), label="is the same as", empty_label="choose …")

    def __init__(self, *args, keep: Athlete, **kwargs):
        super().__init__(*args, **kwargs)
        everyone = Athlete.objects.exclude(pk=keep.pk)
        near = [athlete.pk for athlete in alike(keep.name, leave_out=[keep.pk])]
        rows = sorted(everyone, key=lambda athlete: (athlete.pk not in near, name_order(athlete.name), athlete.pk))
        self.fields["gone"].queryset = everyone
        self.fields["gone"].choices = [("", "choose …"), *((row.pk, f"{row} ({row.board_name})") for row in rows)]

    def chosen(self) -> Athlete | None:
        """Who is chosen so far, by the address too."""
        sent = whole_number(str(self["gone"].value() or ""))
        return self.fields["gone"].queryset.filter(pk=sent).first() if sent else None


PATTERN_WORDS = {pattern: pattern.replace("_", " ") for pattern in PATTERNS}


class LimitationForm(forms.ModelForm):
    """What is out for an athlete and until when it holds."""

    patterns = forms.MultipleChoiceField(
        label="patterns that are out",
        choices=list(PATTERN_WORDS.items()),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Every movement that loads one of them is out. A pregnancy or an illness says enough by itself.",
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
