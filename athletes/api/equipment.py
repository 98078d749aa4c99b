"""What stands in the room, over the API: kinds of machines, and each machine by its number."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import ReadOnly
from athletes.api.strict import Strict
from athletes.equipment.write import machine_add, machine_move
from athletes.models import Machine, MachineType


class MachineTypeSerializer(serializers.ModelSerializer):
    class Meta:
        model = MachineType
        fields = ["id", "name", "engine", "kcal_base", "kcal_slope", "lever_most", "setting_advice"]


class MachineTypeViewSet(ReadOnly):
    """Kinds of machines and places of which there are only so many."""

    queryset = MachineType.objects.all()
    serializer_class = MachineTypeSerializer
    filterset_fields = ["engine"]
    ordering_fields = ["name", "id"]


class MachineSerializer(Strict, serializers.ModelSerializer):
    """A machine by the `number` painted on it. One beyond the next becomes the next: none is left out."""

    number = serializers.IntegerField(min_value=1, max_value=999)

    class Meta:
        model = Machine
        fields = ["id", "type", "number", "active"]
        read_only_fields = ["active"]
        validators: list[Any] = []  # the same number again is the same machine


class MachineViewSet(mixins.CreateModelMixin, ReadOnly):
    """Machines. `active` are on the floor; classes that are published are dealt anew when one goes or comes."""

    queryset = Machine.objects.all()
    serializer_class = MachineSerializer
    filterset_fields = ["type", "active"]
    ordering_fields = ["type__name", "number", "id"]

    def perform_create(self, serializer: MachineSerializer) -> None:
        serializer.instance = machine_add(**serializer.validated_data)

    @extend_schema(request=None, responses=MachineSerializer)
    @action(detail=True, methods=["post"], url_path="take-off")
    def take_off(self, request: Request, pk: str | None = None) -> Response:
        """Off the floor, for instance to be mended."""
        return self._moved(active=False)

    @extend_schema(request=None, responses=MachineSerializer)
    @action(detail=True, methods=["post"], url_path="put-back")
    def put_back(self, request: Request, pk: str | None = None) -> Response:
        """Back on the floor."""
        return self._moved(active=True)

    def _moved(self, *, active: bool) -> Response:
        return Response(self.get_serializer(machine_move(machine=self.get_object(), active=active)).data)
