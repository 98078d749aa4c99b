"""What a coach asks of an athlete's curves: one best effort, or a sequence of legs, as it is typed."""

import re
from dataclasses import replace

from django import forms

from athletes.efforts.parsing import NotUnderstood, read
from athletes.fields import PercentField
from athletes.models import MachineType
from sessions.scaling.sequence import MOST_LEGS, TIMES_BOUNDS, Leg, Sequence

ENGINE_WORDS = {
    "row": "row", "rowing": "row", "rower": "row", "ski": "ski", "skiing": "ski", "bike": "bike", "run": "run",
    "running": "run",
}  # fmt: skip
RESTS = re.compile(r"\brest\b", re.IGNORECASE)
LIKE = "Write a leg a line, like “1000 m run”, “30 kcal bike” or “2:00 row, rest 1:00”."


class SequenceForm(forms.Form):
    """Legs a line each; one leg with nothing left over is the best effort itself."""

    legs = forms.CharField(
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="A leg a line: 1000 m run, 30 kcal bike, 2:00 row, rest 1:00. A rest may stand on its own line.",
    )
    times = forms.IntegerField(
        label="how often", initial=1, min_value=TIMES_BOUNDS[0], max_value=TIMES_BOUNDS[1], required=False
    )
    headroom = PercentField(
        label="left over at the end [%]", least=0, most=60, initial=0.0, required=False, help_text="Nothing: all out."
    )

    def clean(self) -> dict:
        cleaned = super().clean()
        if "legs" in cleaned:
            scales = calorie_scales()
            try:
                lines = [line for line in cleaned["legs"].splitlines() if line.strip()][: MOST_LEGS + 1]
                legs = tuple(legs_of(lines, scales))
                sequence = Sequence(legs, cleaned.get("times") or 1, cleaned.get("headroom") or 0.0)
                sequence.validate()
            except ValueError as error:
                self.add_error("legs", str(error))
            else:
                cleaned["sequence"] = sequence
        return cleaned


def legs_of(lines: list[str], scales: dict[str, dict[str, float]]) -> list[Leg]:
    """Typed lines as legs; a rest on a line of its own belongs to the leg above it."""
    legs = []
    for line in lines:
        if not RESTS.search(line) or any(word in ENGINE_WORDS for word in re.findall(r"\w+", line.lower())):
            legs.append(leg_of(line, scales))
        elif not legs:
            raise NotUnderstood(f"“{line.strip()}”: begin with a leg; a rest comes after one. {LIKE}")
        else:
            legs[-1] = replace(legs[-1], rest_s=legs[-1].rest_s + _rest(line, line))
    return legs


def leg_of(line: str, scales: dict[str, dict[str, float]]) -> Leg:
    """A typed leg; NotUnderstood, which is a ValueError, with a sentence that shows how to write it."""
    work, _, rest = line.partition(",")
    *amount, engine = work.lower().split() or [""]
    if engine not in ENGINE_WORDS or not amount:
        raise NotUnderstood(f"“{line.strip()}” does not say what and on what. {LIKE}")
    engine = ENGINE_WORDS[engine]
    kind, value = _amount(" ".join(amount), line)
    return Leg(engine, kind, value, _rest(rest, line), **scales.get(engine, {}))


def calorie_scales() -> dict[str, dict[str, float]]:
    """How the monitors of the gym's machines count calories, by engine; one query."""
    types = MachineType.objects.exclude(engine="").order_by("-pk")
    return {type.engine: {"kcal_base": type.kcal_base, "kcal_slope": type.kcal_slope} for type in types}


def _amount(text: str, line: str) -> tuple[str, float]:
    reading = read(text)
    if reading.seconds is not None and reading.amount is None:
        return "seconds", reading.seconds
    if reading.amount is not None and reading.unit in ("m", "kcal"):
        return {"m": "metres", "kcal": "kcal"}[reading.unit], reading.amount
    raise NotUnderstood(f"“{line.strip()}”: give metres, calories or a time. {LIKE}")


def _rest(text: str, line: str) -> float:
    if not text.strip():
        return 0.0
    seconds = read(RESTS.sub("", text).strip(" ,:.")).seconds
    if seconds is None:
        raise NotUnderstood(f"“{line.strip()}”: give the rest as a time. {LIKE}")
    return seconds
