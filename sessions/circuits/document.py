"""A circuit as people and programs write it: one nested document, checked in one place for page and API alike.

    {"name", "interval_s", "rotations", "partners", "headroom", "notes", "stations": [
        {"work_window_s", "note", "options": [{"movement", "dose_kind", "dose", "least_dose", "load_kg"}, …]}, …]}

The first option of a station is the prescription; the others are its swap ladder, hardest first. `movement` is a slug.
`partners` 2: two athletes share a station, one works an interval while the other rests.
Serializers check it because they give errors in the same shape as the document.
"""

from rest_framework import serializers

from athletes.models import Movement
from sessions.models import Circuit, StationOption
from sessions.models.circuit import DoseKind

MOST_STATIONS = 8
MOST_OPTIONS = 5
USEFUL_SHARE = 0.4  # common practice: under about two fifths of the prescription an easier movement serves better


class MovementField(serializers.Field):
    """A movement by its slug, from the movements loaded once per document."""

    default_error_messages = {"unknown": "There is no movement “{slug}”. Choose one from the list."}

    def to_internal_value(self, data) -> Movement:
        movements = self.context.setdefault("movements", {})
        if not movements:
            known = Movement.objects.select_related("machine_type", "rack")
            movements.update({movement.slug: movement for movement in known})
        movement = movements.get(data) if isinstance(data, str) else None
        if movement is None:
            self.fail("unknown", slug=data)
        return movement

    def to_representation(self, value: Movement) -> str:
        return value.slug


class OptionSerializer(serializers.Serializer):
    movement = MovementField()
    dose_kind = serializers.ChoiceField(DoseKind.choices)
    dose = serializers.FloatField(min_value=1, max_value=5000)
    least_dose = serializers.FloatField(min_value=1, required=False, allow_null=True)
    load_kg = serializers.FloatField(min_value=0.5, max_value=500, required=False, allow_null=True)

    def validate(self, option: dict) -> dict:
        movement, kind = option["movement"], option["dose_kind"]
        if kind not in movement.dose_kinds:
            labels = " or ".join(str(DoseKind(k).label) for k in movement.dose_kinds)
            raise serializers.ValidationError({"dose_kind": f"{movement} is measured in {labels}. Choose that."})
        loaded = kind == DoseKind.LOAD_REPETITIONS
        if loaded and not option.get("load_kg"):
            raise serializers.ValidationError({"load_kg": "Say which load, in kilograms."})
        option["load_kg"] = option.get("load_kg") if loaded else None
        least = option.get("least_dose")
        if least is not None and least > option["dose"]:
            raise serializers.ValidationError({"least_dose": "The least useful dose cannot be above the dose."})
        option["least_dose"] = least or max(1.0, float(round(USEFUL_SHARE * option["dose"])))
        return option


class StationSerializer(serializers.Serializer):
    work_window_s = serializers.IntegerField(min_value=5, max_value=300)
    note = serializers.CharField(max_length=200, required=False, allow_blank=True, default="")
    options = OptionSerializer(many=True)

    def validate_options(self, options: list) -> list:
        if not 1 <= len(options) <= MOST_OPTIONS:
            raise serializers.ValidationError(f"A station has one prescription and at most {MOST_OPTIONS - 1} swaps.")
        return options

    def validate(self, station: dict) -> dict:
        for option in station["options"]:
            if option["movement"].setup_s >= station["work_window_s"]:
                movement = option["movement"]
                text = f"{movement} takes {movement.setup_s:g} s to get set: make the window longer."
                raise serializers.ValidationError({"work_window_s": text})
        return station


class CircuitSerializer(serializers.Serializer):
    name = serializers.CharField(max_length=80)
    interval_s = serializers.IntegerField(min_value=30, max_value=300)
    rotations = serializers.IntegerField(min_value=1, max_value=40)
    partners = serializers.IntegerField(min_value=1, max_value=2, required=False, default=1)
    headroom = serializers.FloatField(min_value=0, max_value=0.6, required=False, allow_null=True)
    notes = serializers.CharField(required=False, allow_blank=True, default="", max_length=4000)
    stations = StationSerializer(many=True)

    def validate_stations(self, stations: list) -> list:
        if not stations:
            raise serializers.ValidationError("A circuit needs at least one station. Add one.")
        if len(stations) > MOST_STATIONS:
            raise serializers.ValidationError(f"A circuit has at most {MOST_STATIONS} stations. Take some out.")
        return stations

    def validate(self, circuit: dict) -> dict:
        interval = circuit["interval_s"]
        errors = [
            {"work_window_s": [f"The work window is longer than the interval of {interval} s. Shorten it."]}
            if station["work_window_s"] > interval
            else {}
            for station in circuit["stations"]
        ]
        if any(errors):
            raise serializers.ValidationError({"stations": errors})
        return circuit


def document_of(circuit: Circuit) -> dict:
    """The document of a saved circuit (its stations, options and movements prefetched)."""
    return {
        "name": circuit.name,
        "interval_s": circuit.interval_s,
        "rotations": circuit.rotations,
        "partners": circuit.partners,
        "headroom": circuit.headroom,
        "notes": circuit.notes,
        "stations": [
            {
                "work_window_s": station.work_window_s,
                "note": station.note,
                "options": [_option_document(option) for option in station.options.all()],
            }
            for station in circuit.stations.all()
        ],
    }


def _option_document(option: StationOption) -> dict:
    numbers = {name: getattr(option, name) for name in ("dose", "least_dose", "load_kg")}
    return {"movement": option.movement.slug, "dose_kind": option.dose_kind, **numbers}
