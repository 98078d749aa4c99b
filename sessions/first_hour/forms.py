import uuid
from collections.abc import Iterable
from datetime import date

from django import forms

from athletes.equipment.starter import MACHINES, MOST
from athletes.fields import ClassTimesField, DayInput
from athletes.importing.sheets.people import MOST_LINES
from sessions.first_hour.week import Choice

LONGEST_LIST = 40_000  # characters


class PeopleForm(forms.Form):
    """A list of people, and the day that its results are from."""

    text = forms.CharField(
        label="As you have it",
        required=False,
        strip=False,
        max_length=LONGEST_LIST,
        widget=forms.Textarea(attrs={"rows": 10, "spellcheck": "false", "autofocus": True}),
        error_messages={"max_length": "That is more than a page takes. Bring it in as a file, or in halves."},
    )
    day = forms.DateField(label="results are from", widget=DayInput(), help_text="The day they count from.")

    def __init__(self, *args, today: date, **kwargs):
        super().__init__(*args, **kwargs)
        self.today = today
        self.fields["day"].initial = today
        self.fields["text"].label_suffix = ""

    def clean_text(self) -> str:
        text = self.cleaned_data["text"]
        if sum(bool(line.strip()) for line in text.splitlines()) > MOST_LINES:
            raise forms.ValidationError(f"At most {MOST_LINES} lines at a time. Bring it in as a file, or in halves.")
        return text

    def clean_day(self) -> date:
        if self.cleaned_data["day"] > self.today:
            raise forms.ValidationError("This day has not come yet. Give the day of the results, or today.")
        return self.cleaned_data["day"]


class CountsForm(forms.Form):
    """How many of each kind stand here, and whether the starter library is loaded."""

    library = forms.BooleanField(required=False)

    def __init__(self, *args, counts: dict[str, int], **kwargs):
        super().__init__(*args, **kwargs)
        for kind in MACHINES:
            self.fields[kind.slug] = forms.IntegerField(
                label=kind.many,
                initial=counts[kind.slug],
                min_value=0,
                max_value=MOST,
                required=False,
                widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
                error_messages=dict.fromkeys(("min_value", "max_value", "invalid"), f"A number from 0 to {MOST}."),
            )

    def machines(self) -> list:
        return [self[kind.slug] for kind in MACHINES]

    def counts(self) -> dict[str, int]:
        return {kind.slug: self.cleaned_data[kind.slug] or 0 for kind in MACHINES}

    def moved(self, more: str, less: str) -> "CountsForm":
        """The form with one more or less of a kind, for a press without script."""
        typed = self.data.copy()
        for slug, step in ((more, 1), (less, -1)):
            if slug in self.fields and slug != "library":
                typed[slug] = str(min(max((self.cleaned_data.get(slug) or 0) + step, 0), MOST))
        form = CountsForm(typed, counts=dict.fromkeys((kind.slug for kind in MACHINES), 0))
        form.is_valid()
        return form


class WeekForm(forms.Form):
    """Which circuits, on which days, at which class times."""

    key = forms.UUIDField(initial=uuid.uuid4, widget=forms.HiddenInput)
    hours = ClassTimesField(label="class times", help_text="Like 06:00, 18:30. In the gym's own time.")

    def __init__(self, *args, choices: Iterable[Choice], days: list[date], **kwargs):
        super().__init__(*args, **kwargs)
        self.choices = list(choices)
        for choice in self.choices:
            slug = choice.offer.circuit.slug
            self.fields[f"take-{slug}"] = forms.BooleanField(
                label=choice.offer.circuit.name,
                required=False,
                initial=choice.ticked,
                disabled=not choice.offer.fits,
            )
            self.fields[f"day-{slug}"] = forms.TypedChoiceField(
                label=f"day of {choice.offer.circuit.name}",
                coerce=date.fromisoformat,
                choices=[(day.isoformat(), f"{day:%a} {day.day} {day:%b}") for day in days],
                initial=choice.day.isoformat(),
                required=choice.offer.fits,
                empty_value=None,
                error_messages={"invalid_choice": "This day is over. Choose another."},
            )

    def rows(self) -> list[tuple]:
        """Each circuit with its box and its day."""
        slugs = [(choice, choice.offer.circuit.slug) for choice in self.choices]
        return [(choice, self[f"take-{slug}"], self[f"day-{slug}"]) for choice, slug in slugs]

    def clean(self) -> dict:
        cleaned = super().clean()
        if not any(value for name, value in cleaned.items() if name.startswith("take-")):
            raise forms.ValidationError("Tick at least one circuit, or leave this step out.")
        return cleaned

    def wanted(self) -> dict[str, date]:
        cleaned = self.cleaned_data
        slugs = [choice.offer.circuit.slug for choice in self.choices]
        return {slug: cleaned[f"day-{slug}"] for slug in slugs if cleaned[f"take-{slug}"]}


class TestDayForm(forms.Form):
    """When the short test day is."""

    __test__ = False

    key = forms.UUIDField(initial=uuid.uuid4, widget=forms.HiddenInput)
    date = forms.DateField(label="day", widget=DayInput())
    starts_at = forms.TimeField(label="from", widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"))

    def __init__(self, *args, today: date, **kwargs):
        super().__init__(*args, **kwargs)
        self.today = today

    def clean_date(self) -> date:
        if self.cleaned_data["date"] < self.today:
            raise forms.ValidationError("This day is over. Choose today or a later one.")
        return self.cleaned_data["date"]
