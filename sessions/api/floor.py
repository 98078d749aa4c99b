"""Who stands where in a class, over the API: starts, doses on the floor, and ways out where machines are short."""

from dataclasses import asdict
from typing import Any

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import refusals_as_conflicts, valid
from athletes.api.strict import Strict
from athletes.models import Athlete
from sessions.api.serializers import TargetSerializer
from sessions.floor.forms import OfferSerializer, StartSerializer, TapSerializer
from sessions.floor.offers import offer_take, offers_of
from sessions.floor.sheet import sheet_of
from sessions.floor.write import dose_change
from sessions.models import PublishedSession
from sessions.places.write import start_set

HOUR = OpenApiParameter("hour", description="A class time, as 06:00; left out: the one nearest to now.")


def of_whom() -> serializers.PrimaryKeyRelatedField:
    return serializers.PrimaryKeyRelatedField(queryset=Athlete.objects.all())


class FloorRowSerializer(serializers.Serializer):
    """One athlete of a class. `group` is the station where they begin, from 0; null where nobody knows or they wait."""

    athlete = serializers.IntegerField()
    came_at = serializers.CharField(allow_null=True, help_text="Null: nobody marked them.")
    group = serializers.IntegerField(allow_null=True)
    turn = serializers.IntegerField(help_text="Of a pair, who begins: 0, then 1.")
    wave = serializers.IntegerField()
    part = serializers.BooleanField(help_text="Takes part, as far as anybody knows.")
    waits = serializers.BooleanField(help_text="For want of machines.")
    walk_in = serializers.BooleanField()
    log = serializers.CharField(help_text="What they logged, in words.")
    notes = serializers.ListField(child=serializers.CharField(), help_text="What to look at before they begin.")
    flags = serializers.ListField(child=serializers.CharField())


class StartAtSerializer(Strict, StartSerializer):
    athlete = of_whom()
    key = None  # again changes nothing


class TapOnSerializer(Strict, TapSerializer):
    """One change of a dose. `basis` is its rung, dose and load as they were seen; `pin` the key of what is undone."""

    athlete = of_whom()
    basis = serializers.ListField(
        child=serializers.FloatField(min_value=-1, max_value=20_000, allow_null=True), min_length=3, max_length=3
    )

    def tap(self) -> Any:
        self.validated_data["athlete"] = self.validated_data["athlete"].pk
        return super().tap()


class TakeOfferSerializer(Strict, OfferSerializer):
    """What is done for somebody who has no place."""

    athlete = of_whom()


class WayOutSerializer(serializers.Serializer):
    """Somebody who has no place. `short`: where machines are missing if they begin at `group`; `swap`: what they would
    do there instead, empty where nothing frees a machine."""

    athlete = serializers.IntegerField()
    group = serializers.IntegerField()
    short = serializers.ListField(child=serializers.CharField())
    swap = serializers.CharField()


class OffersSerializer(serializers.Serializer):
    """For the first who wait: what is done for one changes what can be done for the next."""

    offers = WayOutSerializer(many=True)
    waiting = serializers.IntegerField(help_text="How many wait.")
    crowded = serializers.ListField(child=serializers.CharField(), help_text="Machines that are asked for twice.")


class FloorActions:
    """What the floor sheet does beyond who came and what was logged; for the view set of classes."""

    @extend_schema(parameters=[HOUR], responses=FloorRowSerializer(many=True))
    @action(detail=True, filterset_fields=[], pagination_class=None)
    def floor(self, request: Request, pk: str | None = None) -> Response:
        """Where everyone begins, who came, and what to look at."""
        session = self.get_object()
        return self._rows(session, self.hour_asked(session))

    @extend_schema(request=StartAtSerializer, responses=FloorRowSerializer(many=True))
    @action(detail=True, methods=["post"], filterset_fields=[], pagination_class=None)
    def starts(self, request: Request, pk: str | None = None) -> Response:
        """Let somebody begin at another station; 409 where a machine is short there. Answers with their row."""
        session, said = self.get_object(), valid(StartAtSerializer, request)
        athlete, hour = said["athlete"].pk, self.hour_of(session, said["hour"])
        with refusals_as_conflicts():
            start_set(session=session, athlete_id=athlete, hour=hour, group=said["group"])
        return self._rows(session, hour, athlete)

    @extend_schema(request=TapOnSerializer, responses=TargetSerializer(many=True))
    @action(detail=True, methods=["post"], filterset_fields=[], pagination_class=None)
    def doses(self, request: Request, pk: str | None = None) -> Response:
        """Make one athlete's dose easier, harder, swap it, or undo that; 409 where somebody changed it meanwhile.

        Answers with their targets.
        """
        session, form = self.get_object(), TapOnSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        self.hour_of(session, form.validated_data["hour"])
        tap = form.tap()
        with refusals_as_conflicts():
            dose_change(session=session, tap=tap, by=request.user)
        own = session.targets.filter(athlete=tap.athlete_id).select_related("session").order_by("station")
        return Response(TargetSerializer(own, many=True).data)

    @extend_schema(methods=["GET"], parameters=[HOUR], responses=OffersSerializer)
    @extend_schema(methods=["POST"], request=TakeOfferSerializer, responses=OffersSerializer)
    @action(detail=True, methods=["get", "post"], filterset_fields=[], pagination_class=None)
    def offers(self, request: Request, pk: str | None = None) -> Response:
        """GET: who has no place, and what can be done. POST: do it. Answers with who waits then."""
        session = self.get_object()
        if request.method == "POST":
            said = valid(TakeOfferSerializer, request)
            hour, athlete = self.hour_of(session, said["hour"]), said.pop("athlete").pk
            with refusals_as_conflicts():
                offer_take(session=session, athlete_id=athlete, by=request.user, **said)
        else:
            hour = self.hour_asked(session)
        found, waiting, crowded = offers_of(session, hour)
        shown = {"offers": [asdict(one) for one in found], "waiting": waiting, "crowded": crowded}
        return Response(OffersSerializer(shown).data)

    def _rows(self, session: PublishedSession, hour: str, athlete: int | None = None) -> Response:
        rows = [row for row in sheet_of(session, hour).rows if athlete in (None, row.athlete)]
        return Response(FloorRowSerializer(rows, many=True).data)
