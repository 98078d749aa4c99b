import uuid
from collections.abc import Iterable
from contextlib import suppress
from datetime import datetime, timedelta
from uuid import UUID

from django import forms
from django.core import signing
from django.core.exceptions import ValidationError
from django.core.serializers import deserialize, serialize
from django.core.serializers.base import DeserializationError
from django.db.models import QuerySet
from django.utils import timezone

from athletes.efforts.parsing import LONGEST
from athletes.fields import DayInput, from_json, whole_number
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Machine, TestDay, TestSlot
from athletes.trials.cautions import not_all_out
from athletes.trials.cells import Write
from athletes.trials.read import by_name, machines_on_floor
from athletes.trials.write import LIST_CHANGED

MOST_PICKS = 200
TAKEN_OFF = "tests taken off a list"


class Ticks(forms.ModelMultipleChoiceField):
    """Rows to tick, several to a line."""

    widget = forms.CheckboxSelectMultiple
    columns = True


class TestDayForm(forms.ModelForm):
    """When, who, what and on which machines. `picks` come from the retest list, one test of one athlete each."""

    __test__ = False  # not a test, whatever its name

    # Made with the page: sending the page twice keeps one plan.
    key = forms.UUIDField(initial=uuid.uuid4, widget=forms.HiddenInput)
    rest_min = forms.IntegerField(
        label="rest between two tests of an athlete [min]",
        min_value=0,
        max_value=120,
        initial=15,
        help_text="Every test is done all out: a quarter of an hour is little (common practice).",
    )
    change_over_s = forms.IntegerField(label="change-over between heats [s]", min_value=0, max_value=1800, initial=120)
    open_places = forms.IntegerField(
        label="at once without a machine", min_value=1, max_value=60, initial=6, help_text="On a run, on the mat."
    )
    pick = forms.MultipleChoiceField(
        label="picked from the retest list", required=False, widget=forms.CheckboxSelectMultiple
    )
    benchmarks = Ticks(Benchmark.objects.none(), label="these benchmarks …", required=False)
    athletes = Ticks(Athlete.objects.none(), label="… for each of these athletes", required=False)
    machines = Ticks(Machine.objects.none(), label="machines that are there", required=False)
    insist = Ticks(
        Athlete.objects.none(),
        label="tested all the same",
        required=False,
        help_text="They should not go all out now, and are left out. Tick whom a coach answers for.",
    )
    insist_reason = forms.CharField(label="why", required=False, max_length=200)

    class Meta:
        model = TestDay
        fields = ["date", "starts_at"]
        widgets = {"date": DayInput(), "starts_at": forms.TimeInput(attrs={"type": "time"}, format="%H:%M")}

    def __init__(self, *args, picks: list[str] = (), coach: bool = False, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["date"].initial = today
        self.fields["starts_at"].initial = "18:00"
        self.fields["benchmarks"].queryset = Benchmark.objects.filter(archived=False)
        _offer_by_name(self.fields["athletes"])
        self.fields["machines"].queryset = machines_on_floor()
        self.fields["machines"].initial = [machine.pk for machine in self.fields["machines"].queryset]
        choices = _named(picks)
        self.fields["pick"].choices, self.fields["pick"].initial = choices, [value for value, _ in choices]
        self.fields["pick"].columns = True
        if not choices:
            del self.fields["pick"]
        self.spared = self._spared()
        if coach:
            _offer_by_name(self.fields["insist"], self.spared)
        if not (coach and self.spared):
            del self.fields["insist"], self.fields["insist_reason"]

    def _spared(self) -> dict[int, str]:
        """Who must not go all out on the day that is typed, or today."""
        day = None
        with suppress(ValidationError):
            day = self.fields["date"].clean(self.data.get("date")) if self.is_bound else None
        return not_all_out(Athlete.objects.filter(active=True), day or today())

    def clean(self):
        said = super().clean()
        if not (said.get("pick") or (said.get("benchmarks") and said.get("athletes"))):
            raise ValidationError("Tick at least one benchmark and one athlete, or go by the retest list.")
        if said.get("insist") and not said.get("insist_reason", "").strip():
            self.add_error("insist_reason", "Say in a few words why they are tested all the same.")
        tested = {pair[0] for pick in said.get("pick") or () if (pair := _pair(pick))}
        tested |= {athlete.pk for athlete in said.get("athletes") or ()}
        if alone := [str(athlete) for athlete in said.get("insist") or () if athlete.pk not in tested]:
            self.add_error("insist", f"In no test above: {', '.join(alone)}. Tick them there, with a benchmark.")
        return said

    @property
    def needs(self) -> dict:
        """The type of machine that each choice takes up, by the value of its box: what folds away the others."""
        benchmarks = self.fields["benchmarks"].queryset.select_related("movement")
        types = {str(benchmark.pk): benchmark.movement.machine_type_id for benchmark in benchmarks}
        picks = [value for value, _ in self.fields["pick"].choices] if "pick" in self.fields else []
        return {
            "benchmarks": types,
            "pick": {pick: types[pick.partition("-")[2]] for pick in picks},
            "machines": {str(machine.pk): machine.type_id for machine in self.fields["machines"].queryset},
        }

    def plan(self) -> dict:
        """What the service is given."""
        said = self.cleaned_data
        tests = {_pair(pick) for pick in said.get("pick", ())}
        tests |= {(athlete.pk, benchmark.pk) for athlete in said["athletes"] for benchmark in said["benchmarks"]}
        plain = {name: said[name] for name in ("key", "date", "starts_at", "change_over_s", "open_places")}
        insisted = {athlete.pk: said["insist_reason"].strip() for athlete in said.get("insist") or ()}
        plain |= {"rest_s": 60 * said["rest_min"], "machines": list(said["machines"]), "insisted": insisted}
        return {**plain, "tests": tests}


class MoveForm(forms.Form):
    """Where a day goes. It carries where its page saw it, so that an old page sent again moves nothing back."""

    seen_date = forms.DateField(widget=forms.HiddenInput)
    seen_starts_at = forms.TimeField(widget=forms.HiddenInput)
    date = forms.DateField(label="day", widget=DayInput())
    starts_at = forms.TimeField(label="first heat at", widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"))

    def __init__(self, *args, test_day: TestDay, **kwargs):
        now = {"date": test_day.date, "starts_at": test_day.starts_at.replace(microsecond=0)}
        initial = {**now, **{f"seen_{name}": value for name, value in now.items()}}
        super().__init__(*args, initial=initial, auto_id="move-%s", **kwargs)

    def move(self) -> dict:
        """What the service is given."""
        said = self.cleaned_data
        seen = said["seen_date"], said["seen_starts_at"]
        return {"seen": seen, "date": said["date"], "starts_at": said["starts_at"]}


class WalkInForm(forms.Form):
    """Someone who came unplanned, and what they are tested on."""

    athlete = forms.ModelChoiceField(Athlete.objects.none(), empty_label="choose …")
    benchmarks = Ticks(Benchmark.objects.none(), label="tested on")
    insisted = forms.CharField(
        label="why they are tested all the same",
        required=False,
        max_length=200,
        help_text="Only of somebody who should not go all out now: new, back after a break, under age, a limitation.",
    )

    def __init__(self, *args, chosen: QuerySet | list = (), coach: bool = False, **kwargs):
        super().__init__(*args, **kwargs)
        if not coach:
            del self.fields["insisted"]
        _offer_by_name(self.fields["athlete"])
        self.fields["benchmarks"].queryset = Benchmark.objects.filter(archived=False).select_related("movement")
        self.fields["benchmarks"].initial = [benchmark.pk for benchmark in chosen]


def _offer_by_name(field: forms.ModelChoiceField, spared: dict[int, str] | None = None) -> None:
    """Everyone active, or those who are `spared` and why, where people look for them and not where the database would
    put them."""
    field.queryset = Athlete.objects.filter(active=True, **({} if spared is None else {"pk__in": spared}))
    first = [("", field.empty_label)] if field.empty_label else []
    why = {pk: f" ({words})" for pk, words in (spared or {}).items()}
    field.choices = first + [(athlete.pk, f"{athlete}{why.get(athlete.pk, '')}") for athlete in by_name(field.queryset)]


def _pair(pick: str) -> tuple[int, int] | None:
    """Athlete and benchmark of "12-3"; None for anything else."""
    first, _, second = pick.partition("-")
    pair = whole_number(first), whole_number(second)
    return None if None in pair else pair


def _named(picks: list[str]) -> list[tuple[str, str]]:
    """Those picks that name an athlete and a benchmark, with what they say."""
    pairs = [pair for pick in picks[:MOST_PICKS] if (pair := _pair(pick))]
    athletes = Athlete.objects.filter(active=True).in_bulk([athlete for athlete, _ in pairs])
    benchmarks = Benchmark.objects.filter(archived=False).in_bulk([benchmark for _, benchmark in pairs])
    found = dict.fromkeys(pair for pair in pairs if pair[0] in athletes and pair[1] in benchmarks)
    return [(f"{a}-{b}", f"{athletes[a]}: {benchmarks[b]}") for a, b in found]


def slots_packed(test_day: TestDay, slots: Iterable[TestSlot]) -> str:
    """Tests that were taken off a day's list, signed, for the button that puts them back."""
    return signing.dumps([_begins(test_day), serialize("json", slots)], salt=TAKEN_OFF)


def slots_unpacked(test_day: TestDay, sent: str) -> list[TestSlot]:
    """What `slots_packed` packed within a day; ValidationError for anything else, and where the test day was moved."""
    try:
        begins, slots = signing.loads(sent, salt=TAKEN_OFF, max_age=timedelta(days=1))
        found = [one.object for one in deserialize("json", slots)]
    except (signing.BadSignature, DeserializationError) as error:
        raise ValidationError("This cannot be put back. Add them below instead.") from error
    if begins != _begins(test_day):
        raise ValidationError(LIST_CHANGED)
    return found


def _begins(test_day: TestDay) -> str:
    return f"{test_day.date} {test_day.starts_at:%H:%M:%S}"


class CellForm(forms.Form):
    """{"athlete", "benchmark", "key", "typed", "base", "confirmed"}: one cell, as a page sends it."""

    athlete = forms.IntegerField(min_value=1, max_value=2**31)
    benchmark = forms.IntegerField(min_value=1, max_value=2**31)
    key = forms.UUIDField()
    typed = forms.CharField(max_length=LONGEST, required=False)
    base = forms.IntegerField(min_value=-(2**62), max_value=2**62)
    confirmed = forms.BooleanField(required=False)

    def write(self) -> Write:
        said = self.cleaned_data
        return Write(said["key"], said["typed"], said["base"], said["confirmed"])


class OpenForm(forms.Form):
    """How many results wait on a device."""

    device = forms.UUIDField()
    count = forms.IntegerField(min_value=0, max_value=10_000)


def device_named(sent: str | None) -> UUID | None:
    """The device that asks; None where it does not say."""
    try:
        return UUID(sent or "")
    except ValueError:
        return None


def seen_at(sent: str | None) -> datetime | None:
    """The moment up to which a page has seen the grid; None where it does not say."""
    try:
        moment = datetime.fromisoformat(sent or "")
    except ValueError:
        return None
    return moment if timezone.is_aware(moment) and moment.year > 2000 else None


def cell_form(body: bytes) -> CellForm:
    return CellForm(_document(body))


def open_form(body: bytes) -> OpenForm:
    return OpenForm(_document(body))


def _document(body: bytes) -> dict:
    """A JSON object; an empty one, which no form takes, for anything else."""
    try:
        document = from_json(body)
    except ValueError:
        document = None
    return document if isinstance(document, dict) else {}
