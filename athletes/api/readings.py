"""What was measured in the room, over the API: drag factors at the levers of machines, and the air."""

from typing import Any

from rest_framework import mixins, serializers

from athletes.api.base import MomentField, ReadOnly, refusals_as_answers
from athletes.api.strict import Strict
from athletes.equipment.forms import DRAG_BOUNDS
from athletes.equipment.read import density_of
from athletes.equipment.write import (
    MEASURED,
    air_reading_add,
    air_reading_remove,
    lever_reading_add,
    lever_reading_remove,
)
from athletes.models import AirReading, LeverReading, Machine

KEEPS_ONE = "Made by the client: the same key again keeps one."


class LeverReadingSerializer(Strict, serializers.ModelSerializer):
    """The drag factor that a monitor showed at a lever, and the `density` [kg/m³] taken for the air of that day."""

    key = serializers.UUIDField(required=False, help_text=KEEPS_ONE)
    machine = serializers.PrimaryKeyRelatedField(queryset=Machine.objects.filter(active=True).select_related("type"))
    lever = serializers.FloatField(min_value=1, max_value=20)
    drag = serializers.FloatField(**DRAG_BOUNDS)

    class Meta:
        model = LeverReading
        fields = ["id", "key", "machine", "lever", "drag", "density", "taken_on"]
        read_only_fields = ["density"]


class LeverReadingViewSet(mixins.CreateModelMixin, mixins.DestroyModelMixin, ReadOnly):
    """Readings of levers. They are never changed: remove a wrong one, and add another."""

    queryset = LeverReading.objects.order_by("machine", "lever", "-taken_on", "-id")
    serializer_class = LeverReadingSerializer
    filterset_fields = ["machine", "machine__type"]
    ordering_fields = ["machine", "lever", "taken_on", "id"]

    def perform_create(self, serializer: LeverReadingSerializer) -> None:
        sent = {"key": LeverReading().key, **serializer.validated_data}
        with refusals_as_answers():
            serializer.instance = lever_reading_add(by=self.request.user, **sent)

    def perform_destroy(self, reading: LeverReading) -> None:
        lever_reading_remove(reading=reading)


class AirReadingSerializer(Strict, serializers.ModelSerializer):
    """The air in the room, with the `density` [kg/m³] that it says; null without a temperature."""

    key = serializers.UUIDField(required=False, help_text=KEEPS_ONE)
    taken_at = MomentField(required=False, help_text="From the year 2000 on; left out: now.")
    density = serializers.SerializerMethodField()

    class Meta:
        model = AirReading
        fields = ["id", "key", "taken_at", *MEASURED, "density"]

    def get_density(self, reading: AirReading) -> float | None:
        return None if reading.temperature_c is None else density_of(reading, self.context["request"].gym.altitude_m)


class AirReadingViewSet(mixins.CreateModelMixin, mixins.DestroyModelMixin, ReadOnly):
    """Readings of the air: a temperature, or a wet-bulb globe temperature, or both. They are never changed."""

    queryset = AirReading.objects.all()
    serializer_class = AirReadingSerializer
    filterset_fields = {"taken_at": ["gte", "lte"]}
    ordering_fields = ["taken_at", "id"]

    def perform_create(self, serializer: AirReadingSerializer) -> None:
        sent: dict[str, Any] = {"key": AirReading().key, **dict.fromkeys(MEASURED), **serializer.validated_data}
        with refusals_as_answers():
            serializer.instance = air_reading_add(by=self.request.user, **sent)

    def perform_destroy(self, reading: AirReading) -> None:
        air_reading_remove(reading=reading)
