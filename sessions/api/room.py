"""The room preview over the API: what everyone would be asked, of a circuit that is kept or only written."""

from datetime import date
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, views
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import Refusals
from athletes.api.strict import Strict
from athletes.gym.read import gym
from sessions.circuits.definition import Definition
from sessions.circuits.document import CircuitSerializer
from sessions.circuits.forms import INTENTS
from sessions.circuits.freeze import definition_of_document
from sessions.models import Target
from sessions.models.circuit import DoseKind
from sessions.room.preview import room_preview
from sessions.room.rows import RoomRow
from sessions.weeks.days import occasion_on

FIRST_DAY, LAST_DAY = date(2000, 1, 1), date(2100, 12, 31)
NO_DAY = "Write the day as 2026-12-01, from the year 2000 to 2100."
NO_INTENT = "Choose hard, steady, easy or test."
NUMBERS = ("station", "rung", "dose", "load_kg", "rounds", "hold", "finish_by_s", "headroom", "probability")


class RoomPreviewRequestSerializer(Strict, serializers.Serializer):
    """A circuit on a day. Nothing of it is kept."""

    circuit = CircuitSerializer()
    day = serializers.DateField(error_messages=dict.fromkeys(("invalid", "datetime"), NO_DAY))
    intent = serializers.ChoiceField(INTENTS, default="hard", error_messages={"invalid_choice": NO_INTENT})

    def validate_day(self, day: date) -> date:
        if not FIRST_DAY <= day <= LAST_DAY:
            raise serializers.ValidationError(NO_DAY)
        return day


class RoomStationSerializer(serializers.Serializer):
    """One athlete at one station. `rung` is −1 at rest and without a target; `movement` is then the prescribed one."""

    station = serializers.IntegerField()
    rung = serializers.IntegerField()
    movement = serializers.SlugField()
    dose = serializers.FloatField()
    dose_kind = serializers.ChoiceField(DoseKind.choices)
    load_kg = serializers.FloatField(allow_null=True)
    rounds = serializers.IntegerField(help_text="The first so many of the circuit's.")
    hold = serializers.FloatField(allow_null=True, help_text="Watts; in runs metres per second; repetitions a minute.")
    finish_by_s = serializers.FloatField()
    headroom = serializers.FloatField(help_text="Left in the tank in the last round, as a share.")
    probability = serializers.FloatField(help_text="Of holding this dose in every round.")
    reason = serializers.CharField(help_text="Empty where it is as prescribed.")


class RoomRowSerializer(serializers.Serializer):
    athlete = serializers.IntegerField()
    as_prescribed = serializers.IntegerField(
        allow_null=True, help_text="Rounds in which all could be done as prescribed; null where a coach sets all."
    )
    expected = serializers.ListField(
        child=serializers.FloatField(),
        help_text="Off the clock the time [s], or the rounds, of the whole, and the ends of its band; else empty.",
    )
    stations = RoomStationSerializer(many=True)


class RoomSerializer(serializers.Serializer):
    rows = RoomRowSerializer(many=True)
    notes = serializers.ListField(child=serializers.CharField(), help_text="What a coach is told, a sentence each.")


class RoomPreviewView(Refusals, views.APIView):
    """How a circuit scales over every active athlete, without keeping anything."""

    @extend_schema(request=RoomPreviewRequestSerializer, responses=RoomSerializer)
    def post(self, request: Request) -> Response:
        serializer = RoomPreviewRequestSerializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        asked = serializer.validated_data
        return Response(room_answer(definition_of_document(asked["circuit"]), asked["day"], asked["intent"]))


def room_answer(definition: Definition, day: date, intent: str = "hard") -> dict[str, Any]:
    """The preview as `RoomSerializer` describes it; an error of the request for a circuit that cannot be scaled."""
    settings = gym()
    occasion, classes = occasion_on(day, settings, definition, intent), max(len(settings.class_times), 1)
    try:
        room = room_preview(definition=definition, occasion=occasion, classes=classes)
    except ValueError as error:
        raise serializers.ValidationError({"circuit": [str(error)]}) from None
    return {"rows": [_row(definition, row) for row in room.rows], "notes": room.all_notes}


def _row(definition: Definition, row: RoomRow) -> dict[str, Any]:
    stations = [
        _station(definition, target, " ".join(card.why)) for target, card in zip(row.targets, row.cards, strict=True)
    ]
    expected = list(row.details[0].expected) if row.details else []
    return {"athlete": row.athlete.pk, "as_prescribed": row.as_prescribed, "expected": expected, "stations": stations}


def _station(definition: Definition, target: Target, reason: str) -> dict[str, Any]:
    option = definition.option_of(target)
    numbers = {name: getattr(target, name) for name in NUMBERS}
    return {**numbers, "movement": option.movement.slug, "dose_kind": option.dose_kind, "reason": reason}
