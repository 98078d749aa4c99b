"""The list of a test day: one row per athlete, each with its own key, so that sending it twice keeps one effort."""

import uuid
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from uuid import UUID

from django import forms

from athletes.efforts.parsing import LONGEST, TOO_LONG
from athletes.efforts.read import latest_by_athlete
from athletes.fields import DayInput, whole_number
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Effort

TYPED_EXAMPLES = "7:42.3 · 1:52.4/500 · 12 in 0:40 · 85x5 · 23"


class EffortForm(forms.Form):
    """One typed result. What it means is decided by athletes.efforts.write, not here."""

    benchmark = forms.ModelChoiceField(Benchmark.objects.none(), empty_label="Choose a benchmark")
    typed = forms.CharField(
        label="result",
        max_length=60,
        help_text=TYPED_EXAMPLES,
        widget=forms.TextInput(attrs={"class": "input-figure", "autocomplete": "off", "spellcheck": "false"}),
    )
    performed_on = forms.DateField(label="day", widget=DayInput())
    # Made with the page: sending the page twice keeps one effort.
    key = forms.UUIDField(initial=uuid.uuid4, widget=forms.HiddenInput)

    def __init__(self, *args, benchmark: Benchmark | None = None, **kwargs):
        super().__init__(*args, **kwargs)
        offered = Benchmark.objects.filter(archived=False)
        if benchmark is not None:
            offered = offered | Benchmark.objects.filter(pk=benchmark.pk)
            self.initial["benchmark"] = benchmark
        self.fields["benchmark"].queryset = offered.select_related("movement")

    def answer(self) -> str:
        """What a “keep it” answers: it counts for exactly this result, not for one that was typed since."""
        cleaned = self.cleaned_data
        return f"{cleaned['benchmark'].pk} {cleaned['performed_on']} {cleaned['typed']}"

    def say(self, error: forms.ValidationError) -> None:
        """Put what the service says beside the field it concerns, or above all of them."""
        by_field = error.message_dict if hasattr(error, "error_dict") else {"": error.messages}
        for name, sentences in by_field.items():
            self.add_error(name if name in self.fields else None, sentences)


class VoidForm(forms.Form):
    reason = forms.CharField(
        label="why it does not count",
        max_length=200,
        help_text="For example: damper at 10, stopped early, typed for the wrong athlete.",
    )


class DayForm(forms.Form):
    """The day on which all results of the list were performed."""

    performed_on = forms.DateField(label="day of the test", widget=DayInput())

    def clean_performed_on(self):
        day = self.cleaned_data["performed_on"]
        if day > today():
            raise forms.ValidationError("This day has not come yet. Give the day of the test.")
        return day


@dataclass
class ListRow:
    """One athlete on the list: the last result, what is typed, and what became of it."""

    athlete: Athlete
    last: Effort | None
    key: UUID = field(default_factory=uuid.uuid4)
    typed: str = ""
    confirmed: bool = False
    error: str = ""
    question: str = ""
    kept: Effort | None = None

    @property
    def open(self) -> bool:
        """Whether someone has to look at it again."""
        return bool(self.error or self.question)

    def close(self, effort: Effort) -> None:
        """The result is kept: the row is empty again, for the next one."""
        self.kept = self.last = effort
        self.key, self.typed = uuid.uuid4(), ""

    def reopen(self, kept: str) -> None:
        """Another result was kept under the row's key: what is typed now may follow under a fresh one."""
        self.key = uuid.uuid4()
        self.error = f"“{kept}” was kept from this row before. Correct that on the athlete's page, or keep both."


def entry_rows(benchmark: Benchmark, athletes: Iterable[Athlete], sent: Mapping[str, str]) -> list[ListRow]:
    """The rows of these athletes with what was sent for them; one query."""
    athletes = list(athletes)
    latest = latest_by_athlete(benchmark, athletes)
    return [_row(athlete, latest.get(athlete.pk), sent) for athlete in athletes]


def _row(athlete: Athlete, last: Effort | None, sent: Mapping[str, str]) -> ListRow:
    row = ListRow(athlete, last, typed=sent.get(f"typed-{athlete.pk}", "").strip())
    if len(row.typed) > LONGEST:
        row.typed, row.error = row.typed[:LONGEST], TOO_LONG
    # Nothing sent, or nonsense: the row keeps its fresh key.
    with suppress(ValueError):
        row.key = UUID(sent.get(f"key-{athlete.pk}", ""))
    # “Keep it” answers the question about exactly this text; one typed since is asked about anew.
    row.confirmed = sent.get("keep") == str(athlete.pk) and sent.get(f"asked-{athlete.pk}") == row.typed
    return row


def sent_athlete(sent: Mapping[str, str]) -> str:
    """The id of the one athlete whose own button was pressed; nothing when the whole list was sent."""
    pressed = sent.get("only") or sent.get("keep") or ""
    return pressed if whole_number(pressed) else ""
