"""The list of a test day: one row per athlete, each with its own key, so that sending it twice keeps one effort."""

import uuid
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from uuid import UUID

from django import forms

from athletes.forms.fields import DayInput, whole_number
from athletes.models import Athlete, Benchmark, Effort
from athletes.parsing import LONGEST, TOO_LONG
from athletes.selectors.efforts import latest_by_athlete
from athletes.selectors.gym import today


class DayForm(forms.Form):
    """The day on which all results of the list were performed."""

    performed_on = forms.DateField(label="day of the test", widget=DayInput())

    def clean_performed_on(self):
        day = self.cleaned_data["performed_on"]
        if day > today():
            raise forms.ValidationError("This day has not come yet. Give the day of the test.")
        return day


@dataclass
class Row:
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


def entry_rows(benchmark: Benchmark, athletes: Iterable[Athlete], sent: Mapping[str, str]) -> list[Row]:
    """The rows of these athletes with what was sent for them; one query."""
    athletes = list(athletes)
    latest = latest_by_athlete(benchmark, athletes)
    return [_row(athlete, latest.get(athlete.pk), sent) for athlete in athletes]


def _row(athlete: Athlete, last: Effort | None, sent: Mapping[str, str]) -> Row:
    row = Row(athlete, last, typed=sent.get(f"typed-{athlete.pk}", "").strip())
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
