"""Targets set by hand, over the API: for one athlete or several at a station, in a draft or in a week that is live."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import ReadOnly, Rows, refusals_as_answers, valid, valid_form
from athletes.api.strict import Strict
from athletes.gym.read import today
from athletes.models import Athlete, Gym
from sessions.by_hand.forms import REST, PinForm
from sessions.by_hand.many import MOST, pins_set_alike
from sessions.by_hand.read import session_definition
from sessions.by_hand.write import pin_set, pin_take_off, pins_take_off
from sessions.circuits.definition import Station
from sessions.models import Pin


class PinSerializer(serializers.ModelSerializer):
    """A target set by hand; without a `movement` it is rest. It stands until it is taken off, or another is set."""

    made_by = serializers.StringRelatedField(allow_null=True)

    class Meta:
        model = Pin
        fields = ["id", "key", "session_key", "athlete", "station", "movement", "dose", "load_kg", "reason"]
        fields += ["made_by", "made_at", "taken_off_at"]


class WhatSerializer(Strict, serializers.Serializer):
    """What is set at a station of a session, and why."""

    key = serializers.UUIDField(help_text="Made by the client: the same key again sets it once.")
    session_key = serializers.UUIDField(help_text="Of a session as it is planned or published, or of a part of one.")
    station = serializers.IntegerField(min_value=1, max_value=99)
    rung = serializers.IntegerField(min_value=-1, max_value=99, help_text="Of the station's swaps, from 0; −1: rest.")
    dose = serializers.FloatField(
        min_value=0, max_value=20_000, required=False, allow_null=True, default=None, help_text="None for a rest."
    )
    load_kg = serializers.FloatField(
        min_value=0, max_value=500, required=False, allow_null=True, default=None, help_text="Null: as it is written."
    )
    reason = serializers.CharField(max_length=200)


class SetSerializer(WhatSerializer):
    athlete = serializers.PrimaryKeyRelatedField(queryset=Athlete.objects.filter(active=True))


class SetManySerializer(WhatSerializer):
    athletes = Rows(queryset=Athlete.objects.filter(active=True), allow_empty=False, max_length=MOST)


class PinsSerializer(Strict, serializers.Serializer):
    pins = Rows(queryset=Pin.objects.all(), allow_empty=False, max_length=MOST)


class UndoneSerializer(serializers.Serializer):
    undone = serializers.IntegerField(help_text="How many of them stood.")


class PinViewSet(ReadOnly):
    """Targets set by hand. They are never changed: set another, or take one off. In a live week they show at once."""

    queryset = Pin.objects.select_related("made_by").order_by("-id")
    serializer_class = PinSerializer
    filterset_fields = {"session_key": ["exact"], "athlete": ["exact"], "taken_off_at": ["isnull"]}
    ordering_fields = ["made_at", "athlete", "station", "id"]

    @extend_schema(request=SetSerializer, responses={201: PinSerializer})
    def create(self, request: Request) -> Response:
        """Set one athlete's target at one station."""
        said = valid(SetSerializer, request)
        form, place = _read(said, request.gym)
        of_whom = {"session_key": said["session_key"], "athlete": said["athlete"]}
        with refusals_as_answers():
            kept = pin_set(pin=form.pin(**of_whom, station=place.position, by=request.user), station=place)
        return Response(self.get_serializer(kept).data, status=status.HTTP_201_CREATED)

    @extend_schema(request=SetManySerializer, responses={201: PinSerializer(many=True)})
    @action(detail=False, methods=["post"], filterset_fields=[], pagination_class=None)
    def many(self, request: Request) -> Response:
        """Set the same for several athletes at one station: for all of them, or for none."""
        said = valid(SetManySerializer, request)
        form, place = _read(said, request.gym)
        of_whom = {"session_key": said["session_key"], "athletes": said["athletes"]}
        with refusals_as_answers():
            kept = pins_set_alike(form=form, station=place, by=request.user, **of_whom)
        return Response(self.get_serializer(kept, many=True).data, status=status.HTTP_201_CREATED)

    @extend_schema(request=None, responses=PinSerializer)
    @action(detail=True, methods=["post"], url_path="take-off")
    def take_off(self, request: Request, pk: str | None = None) -> Response:
        """Let the method decide again."""
        return Response(self.get_serializer(pin_take_off(pin=self.get_object(), by=request.user)).data)

    @extend_schema(request=PinsSerializer, responses=UndoneSerializer)
    @action(detail=False, methods=["post"])
    def undo(self, request: Request) -> Response:
        """Undo several: what stood there before each stands again, by hand or by the method."""
        pins = valid(PinsSerializer, request)["pins"]
        return Response({"undone": pins_take_off(pins=pins, by=request.user, undo=True)})


def _read(said: dict, gym: Gym) -> tuple[PinForm, Station]:
    """What was sent as the page's own form, valid, and the station that it is for; refused by field."""
    found = session_definition(said["session_key"], today(), gym)
    if found is None:
        raise serializers.ValidationError({"session_key": ["No session that is planned or published has this key."]})
    stations = found[2].stations
    if said["station"] > len(stations):
        raise serializers.ValidationError({"station": [f"This session has {len(stations)} stations."]})
    rung = REST if said["rung"] < 0 else str(said["rung"])
    form = PinForm({**said, "rung": rung}, station=stations[said["station"] - 1])
    valid_form(form)
    return form, form.station
