from rest_framework import serializers

from athletes.api.base import HourField
from athletes.api.strict import Strict
from athletes.fields import MOST_CLASS_TIMES
from sessions.circuits.document import CircuitSerializer, document_of
from sessions.models import Circuit, Part, PlannedSession, Publication, Target, Week
from sessions.words.cards import card_of


class CircuitDocumentSerializer(Strict, CircuitSerializer):
    """A circuit with its stations and swap ladders."""

    id = serializers.IntegerField(read_only=True)
    key = serializers.UUIDField(required=False, help_text="Made by the client: the same key again makes one circuit.")
    archived = serializers.BooleanField(read_only=True)
    version = serializers.IntegerField(
        required=False,
        min_value=1,
        help_text="Sent with a change, the one it began from: a newer one is not overwritten.",
    )

    def to_representation(self, circuit: Circuit) -> dict:
        names = {"id": circuit.pk, "key": str(circuit.key), "archived": circuit.archived, "version": circuit.version}
        return {**names, **document_of(circuit)}


class PartSerializer(serializers.ModelSerializer):
    """A part of a class. The one of kind `circuit` is the session's own, and has neither minutes nor another."""

    class Meta:
        model = Part
        fields = ["key", "kind", "minutes", "words", "circuit"]
        extra_kwargs = {
            "key": {"read_only": False, "required": False, "validators": []},
            "version": {"read_only": False, "required": False, "help_text": "The one that the change began from."},
        }


class PlannedSessionSerializer(serializers.ModelSerializer):
    hours = serializers.ListField(child=HourField(), max_length=MOST_CLASS_TIMES)
    parts = PartSerializer(
        many=True, required=False, max_length=20, help_text="In order. Left out: as they are; empty: the circuit alone."
    )

    class Meta:
        model = PlannedSession
        fields = [
            "key", "weekday", "circuit", "hours", "intent", "note", "wbgt_c", "rotations", "dose_percent", "interval_s",
            "version", "parts",
        ]  # fmt: skip
        extra_kwargs = {
            "key": {"read_only": False, "required": False, "validators": []},
            "version": {"read_only": False, "required": False, "help_text": "The one that the change began from."},
        }

    def to_representation(self, planned: PlannedSession) -> dict:
        hours = [f"{hour.starts_at:%H:%M}" for hour in planned.hours.all()]
        names = ("weekday", "intent", "note", "wbgt_c", "rotations", "dose_percent", "interval_s", "version")
        fields = {name: getattr(planned, name) for name in names}
        parts = PartSerializer(planned.parts.all(), many=True).data
        return {"key": str(planned.key), "circuit": planned.circuit_id, "hours": hours, **fields, "parts": parts}


class WeekSerializer(Strict, serializers.ModelSerializer):
    """A week as the coach writes it. `sessions`, when sent, replaces the week's sessions; equal keys are kept."""

    sessions = PlannedSessionSerializer(many=True, required=False, max_length=100)

    class Meta:
        model = Week
        fields = ["id", "starts_on", "note", "sessions"]

    def validate_starts_on(self, day):
        if day.weekday():
            raise serializers.ValidationError("A week begins on a Monday (ISO 8601).")
        return day


class PublicationSerializer(serializers.ModelSerializer):
    running = serializers.BooleanField(read_only=True)

    class Meta:
        model = Publication
        fields = [
            "id",
            "week",
            "revision",
            "state",
            "running",
            "done",
            "total",
            "failure",
            "method_version",
            "requested_at",
            "live_at",
        ]
        read_only_fields = fields


CARD_TEXTS = ("movement", "prescribed", "dose", "unit", "hold", "hold_unit", "rate", "finish_by", "rounds", "firmness")
CARD_TEXTS += ("setting",)


class TargetSerializer(serializers.ModelSerializer):
    """A target with what a person acts on, in numbers and in words. `hold` is watts, in runs metres per second."""

    date = serializers.DateField(source="session.date", read_only=True)
    circuit = serializers.CharField(source="session.definition.name", read_only=True)
    card = serializers.SerializerMethodField()

    class Meta:
        model = Target
        fields = ["id", "publication", "session", "date", "circuit", "athlete", "station", "rung", "dose", "load_kg"]
        fields += ["rounds", "hold", "finish_by_s", "headroom", "probability", "sd_log", "card"]
        read_only_fields = fields

    def get_card(self, target: Target) -> dict[str, str]:
        card = card_of(target.session.definition, target)
        return {**{name: getattr(card, name) for name in CARD_TEXTS}, "why": " ".join(card.why)}
