"""A class as it runs, over the API: who came, its clock, what staff log for athletes, and who walks in."""

from datetime import datetime
from typing import Any

from django.db.models import prefetch_related_objects
from django.utils import timezone
from django.utils.cache import get_conditional_response
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.exceptions import NotFound
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import MomentField, ReadOnly, refusals_as_answers, refusals_as_conflicts, valid, valid_form
from athletes.api.strict import Strict
from athletes.fields import whole_number
from athletes.models import Athlete
from sessions.api.floor import HOUR, FloorActions
from sessions.api.logs import SaidSerializer
from sessions.clock.classes import class_time
from sessions.clock.forms import PressesSerializer
from sessions.clock.read import class_at
from sessions.clock.write import presses_take
from sessions.floor.attendance import attendance_mark
from sessions.floor.forms import WalkInForm
from sessions.floor.logs import as_planned, class_log_write, floor_log_write, rounds_made
from sessions.floor.read import class_logs, floor_session
from sessions.floor.walk_ins import walk_in_add, walk_in_new
from sessions.models import Attendance, Log, LogEntry, PublishedSession
from sessions.weeks.published import class_of

OF_HOUR = ("attendance", "clock", "floor", "offers")  # what is asked of one class time


class ClassSerializer(serializers.ModelSerializer):
    """A class as everyone sees it. A part with a circuit of its own is listed too, with the class as `part_of`."""

    circuit = serializers.CharField(source="circuit.name")
    hours = serializers.ListField(child=serializers.CharField(), help_text="Class times; a day without has one class.")

    class Meta:
        model = PublishedSession
        fields = ["id", "publication", "key", "part_of", "place", "date", "hours", "circuit"]
        fields += ["intent", "note", "caution"]


class OfHourSerializer(Strict, serializers.Serializer):
    hour = serializers.CharField(max_length=5, allow_blank=True, help_text="A class time; empty where there are none.")


class CameSerializer(serializers.ModelSerializer):
    class Meta:
        model = Attendance
        fields = ["athlete", "hour", "marked_at"]


class MarkSerializer(OfHourSerializer):
    athlete = serializers.PrimaryKeyRelatedField(queryset=Athlete.objects.all())
    came = serializers.BooleanField(help_text="False takes it back.")


class RunSerializer(serializers.Serializer):
    """A clock that runs, or has just run: all that a screen needs to go on alone."""

    key = serializers.UUIDField()
    version = serializers.IntegerField()
    hour = serializers.CharField(allow_blank=True)
    starts_ms = serializers.IntegerField(help_text="When the first interval begins, in ms since 1970.")
    shape = serializers.JSONField(help_text="The parts of the class and their intervals.")
    plan = serializers.IntegerField(help_text="Id of the class with the doses that hold.")
    wave = serializers.IntegerField()
    changes = serializers.ListField(child=serializers.JSONField(), help_text="[at_ms, kind, value], in their order.")


class ClockSerializer(serializers.Serializer):
    run = RunSerializer(allow_null=True)
    seen = serializers.CharField(help_text="Moves with whatever is shown of the class.")


class PressedSerializer(ClockSerializer):
    refused = serializers.DictField(child=serializers.CharField(), help_text="By key, why a press was not used.")


class ClockPressesSerializer(Strict, PressesSerializer):
    """Presses in the order they were made. A start's `value` is the seconds to get ready in, and its key becomes the
    run's; every other press names its `run`."""


class EntrySerializer(serializers.ModelSerializer):
    class Meta:
        model = LogEntry
        fields = ["station", "movement", "rounds", "dose", "load_kg", "asked_rounds", "asked_dose", "open_last"]


class ClassLogSerializer(serializers.ModelSerializer):
    """The log of an athlete that counts, with what was asked and done at each station."""

    entries = EntrySerializer(many=True)

    class Meta:
        model = Log
        fields = ["id", "key", "athlete", "source", "rpe", "pain", "stopped", "note", "time_s", "repetitions"]
        fields += ["done_at", "entries"]


class KeepLogSerializer(SaidSerializer):
    """What staff log for an athlete; without `entries` as planned, in the rounds that the class at `hour` made."""

    athlete = serializers.PrimaryKeyRelatedField(queryset=Athlete.objects.all())
    hour = serializers.CharField(max_length=5, allow_blank=True, required=False)

    def get_fields(self) -> dict[str, Any]:
        fields = super().get_fields()
        fields["entries"].required = False
        return fields

    def validate(self, said: dict) -> dict:
        if "entries" not in said and "hour" not in said:
            raise serializers.ValidationError({"hour": ["Say of which class time, or send entries."]})
        return said


class WholeClassSerializer(OfHourSerializer):
    """Everyone who was here and has not logged, as planned; the same key with `undo` takes those logs back."""

    key = serializers.UUIDField()
    done_at = MomentField(required=False, help_text="When the class was over at the latest; left out: now.")
    undo = serializers.BooleanField(default=False)


class CountSerializer(serializers.Serializer):
    count = serializers.IntegerField(help_text="How many logs there are now, or were taken back.")


class WalkInSerializer(OfHourSerializer):
    """Somebody who has no targets in the class: an `athlete`, or somebody new by `key` and names."""

    athlete = serializers.PrimaryKeyRelatedField(queryset=Athlete.objects.all(), required=False)
    key = serializers.UUIDField(required=False, help_text="Made by the client: the same key again adds one athlete.")
    name = serializers.CharField(max_length=80, required=False)
    board_name = serializers.CharField(max_length=24, required=False)

    def validate(self, said: dict) -> dict:
        missing = [name for name in ("key", "name", "board_name") if name not in said]
        if "athlete" not in said and missing:
            raise serializers.ValidationError(dict.fromkeys(missing, ["Send this, or an athlete."]))
        return said


class WalkedInSerializer(serializers.Serializer):
    athlete = serializers.IntegerField()


class ClassViewSet(FloorActions, ReadOnly):
    """Published classes, and what staff do while one runs. An id of an earlier revision leads to what holds now."""

    queryset = PublishedSession.objects.live().order_by("date", "pk")
    serializer_class = ClassSerializer
    filterset_fields = {"date": ["exact", "gte", "lte"], "key": ["exact"], "part_of": ["exact", "isnull"]}
    ordering_fields = ["date", "id"]

    def get_object(self) -> PublishedSession:
        pk = whole_number(self.kwargs["pk"])
        session = floor_session(pk) if pk else None
        if session is None:
            raise NotFound("This class is in no published week any more.")
        return session

    def _parameters(self) -> dict[str, bool]:
        of_hour = self.request.method == "GET" and self.action in OF_HOUR
        return {"hour": False} if of_hour else super()._parameters()

    def hour_of(self, session: PublishedSession, sent: str) -> str:
        """A class time of the session; refused in words where there is no such class."""
        if sent not in (hours := session.hours or [""]):
            known = ", ".join(hours) or "none, so send it empty"
            raise serializers.ValidationError({"hour": [f"There is no such class time. Known: {known}."]})
        return sent

    def hour_asked(self, session: PublishedSession) -> str:
        """The class time that the address asks for, or else the one nearest to now."""
        asked = self.request.query_params.get("hour")
        return class_time(session, "", timezone.localtime()) if asked is None else self.hour_of(session, asked)

    @extend_schema(
        methods=["GET"],
        parameters=[OpenApiParameter("hour", description="Only of this class time, as 06:00.")],
        responses=CameSerializer(many=True),
    )
    @extend_schema(methods=["POST"], request=MarkSerializer, responses=CameSerializer(many=True))
    @action(detail=True, methods=["get", "post"], filterset_fields=[], pagination_class=None)
    def attendance(self, request: Request, pk: str | None = None) -> Response:
        """GET: who came. POST: mark that an athlete came, or take it back; whoever comes keeps a place."""
        session, hour = self.get_object(), request.query_params.get("hour")
        if request.method == "POST":
            said = valid(MarkSerializer, request)
            hour, athlete = self.hour_of(session, said["hour"]), said["athlete"].pk
            with refusals_as_conflicts():
                attendance_mark(session=session, athlete_id=athlete, hour=hour, by=request.user, came=said["came"])
        came = Attendance.objects.filter(session_key=session.class_key, date=session.date)
        came = came if hour is None else came.filter(hour=self.hour_of(session, hour))
        return Response(CameSerializer(came, many=True).data)

    @extend_schema(methods=["GET"], parameters=[HOUR], responses=ClockSerializer)
    @extend_schema(methods=["POST"], request=ClockPressesSerializer, responses=PressedSerializer)
    @action(detail=True, methods=["get", "post"], filterset_fields=[], pagination_class=None)
    def clock(self, request: Request, pk: str | None = None) -> Response:
        """GET: the clock of a class, with an ETag, for it is asked again and again.

        POST: presses, each kept once however often it is sent.
        """
        session = class_of(self.get_object())
        if request.method == "POST":
            said = valid(ClockPressesSerializer, request)
            self.hour_of(session, said["hour"])
            refused = presses_take(session=session, by=request.user, **said)
            return Response({**class_at(session.pk, said["hour"]).state(), "refused": refused})
        now = class_at(session.pk, self.hour_asked(session))
        return get_conditional_response(request, etag=now.tag) or Response(now.state(), headers={"ETag": now.tag})

    @extend_schema(methods=["GET"], responses=ClassLogSerializer(many=True))
    @extend_schema(methods=["POST"], request=KeepLogSerializer, responses={201: ClassLogSerializer})
    @action(detail=True, methods=["get", "post"], filterset_fields=[], pagination_class=None)
    def logs(self, request: Request, pk: str | None = None) -> Response:
        """GET: the logs of a class that count. POST: keep one for an athlete; the one made last counts."""
        session = self.get_object()
        if request.method != "POST":
            kept = list(class_logs(session.key, session.date).values())
            prefetch_related_objects(kept, "entries")
            return Response(ClassLogSerializer(kept, many=True).data)
        said = valid(KeepLogSerializer, request)
        athlete, hour = said.pop("athlete"), said.pop("hour", None)
        if "entries" not in said:
            rounds = rounds_made(session, self.hour_of(session, hour), athlete)
            said["entries"] = as_planned(session=session, athlete=athlete, rounds=rounds)
        with refusals_as_answers():
            log = floor_log_write(session=session, athlete=athlete, content=said, by=request.user)
        return Response(ClassLogSerializer(log).data, status=status.HTTP_201_CREATED)

    @extend_schema(request=WholeClassSerializer, responses=CountSerializer)
    @action(detail=True, methods=["post"], url_path="class-log")
    def class_log(self, request: Request, pk: str | None = None) -> Response:
        """Log everyone who was here as planned, or take that back."""
        session, said = self.get_object(), valid(WholeClassSerializer, request)
        done_at: datetime = said.pop("done_at", None) or timezone.now()
        self.hour_of(session, said["hour"])
        with refusals_as_conflicts():
            at_ms = int(1000 * done_at.timestamp())
            count = class_log_write(session=session, at_ms=at_ms, by=request.user, **said)
        return Response({"count": count})

    @extend_schema(request=WalkInSerializer, responses={201: WalkedInSerializer})
    @action(detail=True, methods=["post"], url_path="walk-ins")
    def walk_ins(self, request: Request, pk: str | None = None) -> Response:
        """Add somebody to a class of today, with targets at once; marked as here. 409 on another day."""
        session, said = self.get_object(), valid(WalkInSerializer, request)
        into: dict[str, Any] = {"session": session, "hour": self.hour_of(session, said["hour"]), "by": request.user}
        if athlete := said.get("athlete"):
            with refusals_as_conflicts():
                walk_in_add(athlete=athlete, **into)
        else:
            names, kept = (said["name"], said["board_name"]), Athlete.objects.filter(key=said["key"]).first()
            new = valid_form(WalkInForm(dict(zip(("name", "board_name"), names, strict=True)), instance=kept))
            with refusals_as_conflicts():
                athlete = walk_in_new(key=said["key"], **new, **into)
        return Response({"athlete": athlete.pk}, status=status.HTTP_201_CREATED)
