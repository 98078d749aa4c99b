from datetime import date, timedelta

from django import forms

from athletes.fields import DayInput
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark

A_YEAR = timedelta(days=365)
TWELVE_WEEKS = timedelta(days=83)
MOST_DAYS = timedelta(days=731)


class GymProgressForm(forms.Form):
    """Which day to compare with, and which benchmark to draw; both may be left out."""

    then = forms.DateField(label="compare with", required=False, widget=DayInput())
    benchmark = forms.ModelChoiceField(
        Benchmark.objects.filter(archived=False), required=False, empty_label="The one with most results"
    )

    def clean_then(self) -> date | None:
        then = self.cleaned_data["then"]
        if then and then >= today():
            raise forms.ValidationError("Choose a day before today to compare with.")
        return then

    def choice(self) -> tuple[date, Benchmark | None]:
        """What to show, for wrong input too: a year ago, and no benchmark in particular."""
        self.full_clean()
        chosen = self.cleaned_data if self.is_bound else {}
        return chosen.get("then") or today() - A_YEAR, chosen.get("benchmark")


class ProgressForm(GymProgressForm):
    """The same of an athlete, who has done the benchmark."""

    def __init__(self, *args, athlete: Athlete, **kwargs):
        super().__init__(*args, **kwargs)
        tested = athlete.efforts.standing().values("benchmark")
        self.fields["benchmark"].queryset = Benchmark.objects.filter(pk__in=tested)


class ReportForm(forms.Form):
    """The days that a report is about: `from` and `to`, both included; twelve weeks up to today where left out."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["from"] = forms.DateField(required=False, widget=DayInput())
        self.fields["to"] = forms.DateField(required=False, widget=DayInput())

    def clean(self) -> dict:
        data = super().clean()
        if self.errors:
            raise forms.ValidationError("Write both days of the report like 2026-11-25.")
        last = data.get("to") or today()
        first = data.get("from") or last - TWELVE_WEEKS
        if last > today():
            raise forms.ValidationError("A report ends today or earlier. Choose an earlier last day.")
        if not first <= last <= first + MOST_DAYS:
            raise forms.ValidationError("A report covers a day to two years. Choose its first day so.")
        return {"first": first, "last": last}
