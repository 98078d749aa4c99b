from datetime import date, timedelta

from django import forms

from athletes.fields import ClassTimesField
from sessions.builds.steps import BOUNDS, days_of, eased_places, growing
from sessions.models import Build, Circuit, Grows
from sessions.models.circuit import Format
from sessions.models.week import Intent
from sessions.weeks.read import FIRST_YEAR, LAST_YEAR

EASED = [(0, "no easier week"), (3, "every third easier"), (4, "every fourth easier")]
UNITS = {"rounds": "rounds", "dose": "% of the dose", "rest": "s an interval"}
OF_ENDS = "Minutes, % of the dose, or seconds an interval."


class BuildForm(forms.Form):
    """A series of sessions and how it grows. `steps` are typed one by one, or drawn anew from the first to the last."""

    circuit = forms.ModelChoiceField(Circuit.objects.filter(archived=False), empty_label="Choose …")
    starts_on = forms.DateField(label="from", widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))
    until = forms.DateField(label="until", widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))
    every = forms.TypedChoiceField(choices=Build._meta.get_field("every").choices, coerce=int, initial=1)
    hours = ClassTimesField(label="class times", help_text="Like 06:00, 18:30.")
    intent = forms.ChoiceField(choices=Intent, initial=Intent.HARD)
    grows = forms.ChoiceField(label="what grows", choices=Grows, initial=Grows.ROUNDS)
    first = forms.IntegerField(label="first time", required=False, min_value=1, max_value=900, help_text=OF_ENDS)
    last = forms.IntegerField(label="last time", required=False, min_value=1, max_value=900, help_text=OF_ENDS)
    eased = forms.TypedChoiceField(label="easier", choices=EASED, coerce=int, initial=4)

    def __init__(self, data=None, steps: list[str] | None = None, drawn_of: str = "", **kwargs):
        super().__init__(data, **kwargs)
        self.typed_steps = steps or []
        self.drawn_of = drawn_of

    def clean(self) -> dict:
        found = super().clean()
        start, until = found.get("starts_on"), found.get("until")
        if not start or not until or self.errors:
            return found
        if not FIRST_YEAR <= start.year <= until.year < LAST_YEAR and until >= start:
            raise forms.ValidationError(f"Choose days between {FIRST_YEAR} and {LAST_YEAR}.")
        if until < start:
            raise forms.ValidationError("It ends before it begins: let “until” be the later day.")
        found["days"] = days_of(start, until, found["every"])
        found["eased_places"] = eased_places(len(found["days"]), found["eased"])
        found["steps"] = self._steps(found)
        return found

    def _steps(self, found: dict) -> list[int]:
        grows, count = found["grows"], len(found["days"])
        if grows == Grows.NOTHING:
            return [0] * count
        if found["circuit"].format != Format.EVERY and grows != Grows.DOSE:
            self.add_error("grows", "Off the clock only the dose can grow, or nothing.")
            return []
        low, high = BOUNDS[grows]
        a_round = round_minutes(found["circuit"]) if grows == Grows.ROUNDS else 1.0
        found["first"], found["last"] = _ends(found, a_round)
        first, last = (max(round(found[name] / a_round), 1) for name in ("first", "last"))
        for name, value in (("first", first), ("last", last)):
            if not low <= value <= high:
                unit = f"rounds of {a_round:g} min" if grows == Grows.ROUNDS else UNITS[grows]
                self.add_error(name, f"Between {low} and {high} {unit}.")
        if self.errors:
            return []
        typed = self.drawn_of == shape_of(found) and len(self.typed_steps) == count
        steps = self._typed(low, high, grows) if typed else growing(first, last, count, found["eased_places"])
        longest = max(found["circuit"].stations.values_list("work_window_s", flat=True), default=0)
        if grows == Grows.REST and min(steps) < longest:
            raise forms.ValidationError(f"A station works for {longest} s: no interval can be shorter than that.")
        return steps

    def _typed(self, low: int, high: int, grows: str) -> list[int]:
        try:
            steps = [int(step) for step in self.typed_steps]
        except ValueError:
            raise forms.ValidationError("Each step is a whole number.") from None
        if not all(low <= step <= high for step in steps):
            raise forms.ValidationError(f"Each step lies between {low} and {high} {UNITS[grows]}.")
        return steps


def shape_of(found: dict) -> str:
    """What the steps were drawn from: typed steps hold as long as it stays."""
    names = ("grows", "first", "last", "eased")
    return "/".join([*(str(found[name]) for name in names), str(len(found["days"]))])


def round_minutes(circuit: Circuit) -> float:
    """Minutes of one round of a circuit."""
    return circuit.stations.count() * circuit.partners * circuit.interval_s / 60


def _ends(found: dict, a_round: float) -> tuple[int, int]:
    """The first and the last time, where they are not typed: the circuit as written, and a good deal more. In minutes
    where rounds grow, which last `a_round` minutes each."""
    circuit, grows = found["circuit"], found["grows"]
    minutes = circuit.rotations * a_round
    usual = {
        "rounds": (round(minutes), round(min(2 * minutes, BOUNDS["rounds"][1] * a_round))),
        "dose": (100, 125),
        "rest": (circuit.interval_s, max(round(0.75 * circuit.interval_s), BOUNDS["rest"][0])),
    }[grows]
    first = found.get("first") or usual[0]
    return first, found.get("last") or (usual[1] if not found.get("first") else first)


def usual_days(today: date) -> dict:
    """From the next Monday on, for six weeks."""
    start = today + timedelta(days=7 - today.weekday())
    return {"starts_on": start.isoformat(), "until": (start + timedelta(weeks=5)).isoformat()}
