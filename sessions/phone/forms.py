"""The log as a plain form, for phones without scripts; with scripts the page itself sends the same fields as JSON."""

from uuid import UUID

from django import forms
from django.core.signing import BadSignature, Signer

from athletes.words import POUND_KG, bar_unit, load_parts, number
from sessions.logs.write import MOST_REPETITIONS

# Foster et al. 2001 (J Strength Cond Res 15:109–115): the words of the modified CR-10 scale, from memory.
RPE_WORDS = {
    0: "rest",
    1: "very, very easy",
    2: "easy",
    3: "moderate",
    4: "somewhat hard",
    5: "hard",
    6: "",
    7: "very hard",
    8: "",
    9: "",
    10: "maximal",
}
UNFINISHED = "This page is too old to log with. Load it again."

signer = Signer(salt="phone log")


def mark_of(session_key: str, day: str, standing: str) -> str:
    """What a form is for: a session and the log that stood when it was made, so that sending it twice is seen."""
    return signer.sign(f"{session_key} {day} {standing}")


def read_mark(mark: str) -> tuple[UUID, str] | None:
    """The session's key and day from a form's mark; None when it is not one of ours."""
    try:
        key, day, _ = signer.unsign(mark).split(" ")
        return UUID(key), day
    except (BadSignature, ValueError):
        return None


class ClockField(forms.CharField):
    """Minutes and seconds as people write them, 14:32, in seconds."""

    def clean(self, value) -> int | None:
        typed = super().clean(value)
        if not typed:
            return None
        minutes, colon, seconds = typed.replace(".", ":").partition(":")
        if not (colon and minutes.isdecimal() and seconds.isdecimal() and int(seconds) < 60):
            raise forms.ValidationError("Write minutes and seconds, like 14:32.")
        return 60 * int(minutes) + int(seconds)


class PhoneLogForm(forms.Form):
    """`stations` as frozen (sessions.boards.phone.to_log), with `most` and `most_rounds` beside what was asked."""

    rpe = forms.TypedChoiceField(
        choices=[(str(n), n) for n in RPE_WORDS], coerce=float, empty_value=None, required=False, label="RPE"
    )
    pain = forms.BooleanField(required=False)
    stopped = forms.BooleanField(required=False)
    note = forms.CharField(max_length=300, required=False)

    def __init__(self, data, stations: list[dict], format: str = ""):
        super().__init__(data)
        self.stations = stations
        if format == "for_time":
            self.fields["time"] = ClockField(required=False, label="Time reached")
        if format == "as_many":
            self.fields["repetitions"] = forms.IntegerField(
                min_value=0, max_value=MOST_REPETITIONS, required=False, label="Repetitions of the last round"
            )
        for station in stations:
            name, place = station["movement"], station["station"]
            rounds = forms.IntegerField(min_value=0, max_value=station["most_rounds"], label=f"Rounds of {name}")
            feel = station.get("feel", False)  # nothing was asked: what is not said was not counted
            dose = forms.FloatField(
                min_value=0, max_value=station["most"], required=not feel, label=f"Each round of {name}"
            )
            self.fields |= {f"rounds-{place}": rounds, f"dose-{place}": dose}
            if station["load_kg"]:
                self.fields[f"load-{place}"] = forms.FloatField(min_value=0, max_value=1100, label=f"Load of {name}")
            if station.get("open_last"):
                self.fields[f"last-{place}"] = forms.FloatField(
                    min_value=0, max_value=station["most"], required=False, label=f"Last round of {name}"
                )

    def content(self) -> dict:
        """What was said, as `sessions.logs.write.log_write` takes it, without key and moment."""
        content = self.cleaned_data
        entries = [
            {
                "station": station["station"],
                "rounds": content[f"rounds-{station['station']}"],
                "dose": content[f"dose-{station['station']}"],
                "load_kg": self._load_kg(station),
                "open_last": content.get(f"last-{station['station']}"),
            }
            for station in self.stations
            if content[f"dose-{station['station']}"] is not None
        ]
        said = {name: content[name] for name in ("rpe", "pain", "stopped", "note")}
        whole = {"time_s": content.get("time"), "repetitions": content.get("repetitions")}
        return {**said, **{name: value for name, value in whole.items() if value is not None}, "entries": entries}

    def sentences(self) -> list[str]:
        """What is to be mended, a sentence for each field."""
        return [f"{self.fields[name].label or name}: {' '.join(errors)}" for name, errors in self.errors.items()]

    def _load_kg(self, station: dict) -> float | None:
        """Kilograms; None where the figure is the one asked for, which was rounded to be shown."""
        typed = self.cleaned_data.get(f"load-{station['station']}")
        unit = bar_unit(station["load_kg"])
        if typed is None or number(typed, 2) == load_parts(station["load_kg"], unit)[0]:
            return None
        return typed * POUND_KG if unit == "lb" else typed
