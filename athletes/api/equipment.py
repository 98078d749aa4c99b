"""What stands in the room, over the API: kinds of machines, each machine by its number, and the loads owned."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import Editable, ReadOnly
from athletes.api.serializers import refuse_by_the_models_rules
from athletes.api.strict import Strict
from athletes.capacity.loading import GRAM
from athletes.equipment.loads import MOST_FIXED, MOST_PAIRS
from athletes.equipment.write import machine_add, machine_move, rack_remove
from athletes.models import Machine, MachineType, Rack
from athletes.models.rack import MOST_KG

NO_DELETE = ["get", "post", "put", "patch", "head", "options"]  # machines of the kind stay


class MachineTypeSerializer(Strict, serializers.ModelSerializer):
    """A kind of machine. `kcal_base` [kcal/h] and `kcal_slope` [kcal/h per W] are how its monitor counts calories."""

    class Meta:
        model = MachineType
        fields = ["id", "name", "engine", "kcal_base", "kcal_slope", "lever_most", "setting_advice"]
        extra_kwargs = {name: {"max_value": 10_000} for name in ("kcal_base", "kcal_slope")}

    def validate(self, values: dict) -> dict:
        return refuse_by_the_models_rules(self, values)


class MachineTypeViewSet(Editable):
    """Kinds of machines and places of which there are only so many."""

    queryset = MachineType.objects.all()
    serializer_class = MachineTypeSerializer
    filterset_fields = ["engine"]
    ordering_fields = ["name", "id"]
    http_method_names = NO_DELETE


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


def load_field(**options: Any) -> serializers.FloatField:
    """A load [kg], to the gram."""
    return serializers.FloatField(min_value=10**-GRAM, max_value=MOST_KG, **options)


class PlateSerializer(serializers.Serializer):
    """Plates of one size: what one weighs, and how many pairs one bar can have."""

    plate_kg = load_field()
    pairs = serializers.IntegerField(min_value=1, max_value=MOST_PAIRS)

    def validate(self, plate: dict) -> dict:
        """Within a PATCH too a plate is whole."""
        if missing := [name for name in self.fields if name not in plate]:
            raise serializers.ValidationError(dict.fromkeys(missing, ["This field is required."]))
        return plate

    def to_representation(self, kept: list) -> dict:
        return dict(zip(("plate_kg", "pairs"), kept, strict=True))


class RackSerializer(Strict, serializers.ModelSerializer):
    """Loads of one kind that the gym owns: fixed ones [kg], or a bar with its plates."""

    loads = serializers.ListField(child=load_field(), max_length=MOST_FIXED, required=False, help_text="Fixed ones.")
    bar_kg = load_field(required=False, allow_null=True, help_text="The empty bar; null: no bar.")
    pairs = PlateSerializer(many=True, max_length=MOST_FIXED, required=False)

    class Meta:
        model = Rack
        fields = ["id", "name", "loads", "bar_kg", "pairs"]

    def validate_loads(self, loads: list[float]) -> list[float]:
        return sorted({round(kg, GRAM) for kg in loads})

    def validate_pairs(self, sent: list[dict]) -> list[list]:
        pairs = {round(one["plate_kg"], GRAM): one["pairs"] for one in sent}
        if len(pairs) < len(sent):
            raise serializers.ValidationError("A plate stands there twice. Write each one once.")
        return [[plate, pairs[plate]] for plate in sorted(pairs, reverse=True)]

    def validate(self, values: dict) -> dict:
        return refuse_by_the_models_rules(self, values)

    def create(self, values: dict) -> Rack:
        return Rack.objects.create(**values)

    def update(self, rack: Rack, values: dict) -> Rack:
        for name, value in values.items():
            setattr(rack, name, value)
        rack.save()
        return rack


class RackViewSet(Editable):
    """Loads that the gym owns. Movements name theirs as `rack`; without, their loads go in steps of 2.5 kg."""

    queryset = Rack.objects.all()
    serializer_class = RackSerializer
    ordering_fields = ["name", "id"]

    def perform_destroy(self, rack: Rack) -> None:
        rack_remove(rack=rack)
