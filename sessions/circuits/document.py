"""A circuit as people and programs write it: one nested document, checked in one place for page and API alike.

    {"name", "format", "limit_s", "interval_s", "rotations", "partners", "headroom", "scaling", "open_last", "notes",
     "stations": [
        {"work_window_s", "note", "closed", "options": [
            {"movement", "dose_kind", "dose", "least_dose", "load_kg", "percent", "reserve"}, …]}, …]}

`rotations` are the rounds. The first option of a station is the prescription; the others are its swap ladder, hardest
first; below it the library's easier forms follow by themselves unless it is `closed`. `movement` is a slug. `dose` and
`least_dose` are the top and the foot of a range; without one half the dose is the least useful. Of a lift one of
`load_kg`, `percent` (of the maximum) and `reserve` (repetitions) is written. `headroom` is what a hard day leaves in
the tank here. `scaling` "rounds": the dose stays and people stop earlier. `open_last`: the last round as far as it
goes. `partners` 2: two athletes share a station, one works an interval while the other rests. `format` "every" is on
the clock. "for_time" goes through all rounds without intervals, within the cap `limit_s` [s]; "as_many" does as many
rounds as fit in `limit_s`: then `interval_s` and `work_window_s` mean nothing. Seconds on an engine are at a pace.
Serializers check it because they give errors in the same shape as the document.
"""

from math import isfinite
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from athletes.models import Movement
from sessions.models import Circuit, StationOption
from sessions.models.circuit import DoseKind, Format, Scaling

MOST_STATIONS = 8
MOST_OPTIONS = 5
LOADS = ("load_kg", "percent", "reserve")  # ways of writing one
# What only intervals have: as it is without them, and what to do where something else is written.
ON_THE_CLOCK = {
    "partners": (1, "In pairs needs the clock: choose one athlete at a station, or intervals."),
    "scaling": (Scaling.DOSE, "Rounds give way on the clock only: choose the dose, or intervals."),
    "open_last": (False, "An open last round needs the clock: leave it out, or choose intervals."),
}


class Number(serializers.FloatField):
    """A finite number, with one sentence for whatever is outside its bounds."""

    def __init__(self, *, says: str, **options: Any) -> None:
        messages = dict.fromkeys(("invalid", "max_value", "min_value", "max_string_length", "overflow"), says)
        super().__init__(error_messages=messages, **options)

    def to_internal_value(self, data: Any) -> float:
        value = super().to_internal_value(data)
        if not isfinite(value):
            self.fail("invalid")
        return value


def optional(*, says: str, **bounds: float) -> Number:
    """A number that may be left out."""
    return Number(says=says, required=False, allow_null=True, **bounds)


@extend_schema_field(str)
class MovementField(serializers.Field):
    """A movement by its slug, from the movements loaded once per document."""

    def to_internal_value(self, data: Any) -> Movement:
        movements: dict[str, Movement] = self.context.setdefault("movements", {})
        if not movements:
            known = Movement.objects.select_related("machine_type", "rack")
            movements.update({movement.slug: movement for movement in known})
        if isinstance(data, str) and data in movements:
            return movements[data]
        raise serializers.ValidationError(f"There is no movement “{data}”. Choose one from the list.", code="unknown")

    def to_representation(self, value: Movement) -> str:
        return value.slug


class OptionSerializer(serializers.Serializer):
    movement = MovementField()
    dose_kind = serializers.ChoiceField(DoseKind.choices)
    dose = Number(min_value=1, max_value=5000, says="A dose is a number from 1 to 5000.")
    least_dose = optional(min_value=1, max_value=5000, says="The least of a range is a number from 1 up to the dose.")
    load_kg = optional(min_value=0.5, max_value=500, says="A load is a number from 0.5 to 500 kg.")
    percent = optional(min_value=1, max_value=100, says="A share of the maximum is a number from 1 to 100 per cent.")
    reserve = optional(min_value=0, max_value=10, says="Repetitions in reserve are a number from 0 to 10.")

    def validate(self, option: dict) -> dict:
        movement, kind = option["movement"], option["dose_kind"]
        if kind not in movement.dose_kinds:
            labels = " or ".join(str(DoseKind(k).label) for k in movement.dose_kinds)
            raise serializers.ValidationError({"dose_kind": f"{movement} is measured in {labels}. Choose that."})
        written = [name for name in LOADS if option.get(name) is not None]
        if kind == DoseKind.LOAD_REPETITIONS and not written:
            raise serializers.ValidationError(
                {"load_kg": "Say which load: in kilograms, in % of the maximum, or by repetitions in reserve."}
            )
        for name in LOADS:
            option[name] = option.get(name) if kind == DoseKind.LOAD_REPETITIONS else None
        option["least_dose"] = least = option.get("least_dose")
        if least is not None and least > option["dose"]:
            raise serializers.ValidationError(
                {"least_dose": "The range is upside down: write the smaller number first."}
            )
        return option


class StationSerializer(serializers.Serializer):
    work_window_s = serializers.IntegerField(min_value=5, max_value=900)
    note = serializers.CharField(max_length=200, required=False, allow_blank=True, default="")
    closed = serializers.BooleanField(required=False, default=False)
    options = OptionSerializer(many=True)

    def validate_options(self, options: list) -> list:
        if not 1 <= len(options) <= MOST_OPTIONS:
            raise serializers.ValidationError(f"A station has one prescription and at most {MOST_OPTIONS - 1} swaps.")
        return options


class CircuitSerializer(serializers.Serializer):
    name = serializers.CharField(max_length=200)
    format = serializers.ChoiceField(Format.choices, required=False, default=Format.EVERY)
    limit_s = serializers.IntegerField(min_value=60, max_value=7200, required=False, allow_null=True, default=None)
    interval_s = serializers.IntegerField(min_value=20, max_value=900)
    rotations = serializers.IntegerField(min_value=1, max_value=40)
    partners = serializers.IntegerField(min_value=1, max_value=2, required=False, default=1)
    headroom = optional(min_value=0, max_value=0.6, says="From 0 to 60 per cent can be left in the tank (0 to 0.6).")
    scaling = serializers.ChoiceField(Scaling.choices, required=False, default=Scaling.DOSE)
    open_last = serializers.BooleanField(required=False, default=False)
    notes = serializers.CharField(required=False, allow_blank=True, default="", max_length=4000)
    stations = StationSerializer(many=True)

    def validate_stations(self, stations: list) -> list:
        if not stations:
            raise serializers.ValidationError("A circuit needs at least one station. Add one.")
        if len(stations) > MOST_STATIONS:
            raise serializers.ValidationError(f"A circuit has at most {MOST_STATIONS} stations. Take some out.")
        return stations

    def validate(self, circuit: dict) -> dict:
        if circuit["format"] != Format.EVERY:
            return self._off_the_clock(circuit)
        circuit["limit_s"] = None
        errors = [_window_errors(station, circuit["interval_s"]) for station in circuit["stations"]]
        if any(errors):
            raise serializers.ValidationError({"stations": errors})
        return circuit

    def _off_the_clock(self, circuit: dict) -> dict:
        """What has no intervals needs a limit, and takes nothing that only intervals have."""
        if circuit["limit_s"] is None:
            label = "the cap" if circuit["format"] == Format.FOR_TIME else "how long it goes on"
            raise serializers.ValidationError({"limit_s": f"Say {label}, in seconds."})
        timed = {name: says for name, (usual, says) in ON_THE_CLOCK.items() if circuit[name] != usual}
        if timed:
            raise serializers.ValidationError(timed)
        said = {"dose_kind": ["Seconds at a pace need the clock: give metres or calories."]}
        errors = [[said if at_pace(option) else {} for option in s["options"]] for s in circuit["stations"]]
        if any(map(any, errors)):
            raise serializers.ValidationError({"stations": [{"options": of_station} for of_station in errors]})
        return circuit


def at_pace(option: dict) -> bool:
    """Whether a checked option is so many seconds on an engine."""
    return bool(option["movement"].engine) and option["dose_kind"] == DoseKind.SECONDS


def _window_errors(station: dict, interval_s: int) -> dict:
    """What is wrong with a station's work time in an interval."""
    window = station["work_window_s"]
    if window > interval_s:
        return {"work_window_s": [f"The work time is longer than the interval of {interval_s} s. Shorten it."]}
    for option in station["options"]:
        movement = option["movement"]
        if movement.setup_s >= window:
            text = f"{movement} takes {movement.setup_s:g} s to get set: make the work time longer."
            return {"work_window_s": [text]}
        if at_pace(option) and option["dose"] > window:
            return {"work_window_s": [f"{option['dose']:g} s of work do not fit in it. Make it longer."]}
    return {}


def document_of(circuit: Circuit) -> dict:
    """The document of a saved circuit (its stations, options and movements prefetched)."""
    return {
        "name": circuit.name,
        "format": circuit.format,
        "limit_s": circuit.limit_s,
        "interval_s": circuit.interval_s,
        "rotations": circuit.rotations,
        "partners": circuit.partners,
        "headroom": circuit.headroom,
        "scaling": circuit.scaling,
        "open_last": circuit.open_last,
        "notes": circuit.notes,
        "stations": [
            {
                "work_window_s": station.work_window_s,
                "note": station.note,
                "closed": station.closed,
                "options": [_option_document(option) for option in station.options.all()],
            }
            for station in circuit.stations.all()
        ],
    }


def _option_document(option: StationOption) -> dict:
    numbers = {name: getattr(option, name) for name in ("dose", "least_dose", *LOADS)}
    return {"movement": option.movement.slug, "dose_kind": option.dose_kind, **numbers}
