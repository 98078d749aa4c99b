from django.core.exceptions import ValidationError
from django.db.models import Q
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status, views, viewsets
from rest_framework.decorators import action
from rest_framework.exceptions import NotFound, PermissionDenied
from rest_framework.generics import get_object_or_404
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import MomentField, Refusals
from athletes.api.strict import Strict
from athletes.gym.read import today
from sessions.logs.read import flagged_logs, logs_of, session_to_log
from sessions.logs.write import flag_seen, log_write
from sessions.models import Log


class LogEntrySerializer(serializers.Serializer):
    """What was done at one station: rounds made, and the dose of a round in the unit of the target."""

    station = serializers.IntegerField(min_value=1)
    rounds = serializers.IntegerField(min_value=0, max_value=99)
    dose = serializers.FloatField(min_value=0, max_value=20_000)
    load_kg = serializers.FloatField(min_value=0, max_value=500, required=False, allow_null=True)
    open_last = serializers.FloatField(
        min_value=0, max_value=20_000, required=False, allow_null=True, help_text="What an open last round came to."
    )


class SaidSerializer(Strict, serializers.Serializer):
    """What is said of a session. `key` is made by the client: it may be sent any number of times, in any order."""

    key = serializers.UUIDField()
    done_at = MomentField(help_text="When it was logged, by the client's clock.")
    rpe = serializers.FloatField(min_value=0, max_value=10, required=False, allow_null=True, default=None)
    pain = serializers.BooleanField(required=False, default=False)
    stopped = serializers.BooleanField(required=False, default=False)
    note = serializers.CharField(max_length=300, required=False, allow_blank=True, default="")
    time_s = serializers.IntegerField(
        min_value=10, max_value=21_600, required=False, allow_null=True, default=None, help_text="Of what is for time."
    )
    repetitions = serializers.IntegerField(
        min_value=0,
        max_value=2000,
        required=False,
        allow_null=True,
        default=None,
        help_text="Of the round that was not finished, where as many as fit are done.",
    )
    entries = LogEntrySerializer(many=True, max_length=20)

    def validate_entries(self, entries: list) -> list:
        if len({entry["station"] for entry in entries}) < len(entries):
            raise serializers.ValidationError("Each station can be logged once.")
        return entries


class LogSerializer(SaidSerializer):
    """A log of one session, by the athlete."""

    session_key = serializers.UUIDField()
    date = serializers.DateField()


class KeptLogSerializer(serializers.ModelSerializer):
    class Meta:
        model = Log
        fields = ["key", "session_key", "date", "rpe", "pain", "stopped", "note", "time_s", "repetitions", "done_at"]


class FlagSerializer(serializers.ModelSerializer):
    """A log with pain or a stop. `seen_at` is when somebody of the staff had seen it."""

    class Meta:
        model = Log
        fields = ["id", "athlete", "session", "date", "rpe", "pain", "stopped", "note", "done_at", "seen_at"]


class FlagViewSet(Refusals, mixins.ListModelMixin, viewsets.GenericViewSet):
    """Pain and stops that nobody of the staff has seen yet, the newest first."""

    queryset = flagged_logs()
    serializer_class = FlagSerializer
    filterset_fields = ["athlete", "pain", "stopped"]
    ordering_fields = ["date", "done_at", "id"]

    @extend_schema(request=None, responses=FlagSerializer)
    @action(detail=True, methods=["post"])
    def seen(self, request: Request, pk: str | None = None) -> Response:
        """Say that it was seen; the first who did is kept."""
        flagged = Log.objects.filter(Q(pain=True) | Q(stopped=True))
        log = flag_seen(log=get_object_or_404(flagged, pk=pk), by=request.user)
        return Response(self.get_serializer(log).data)


class MyLogsView(Refusals, views.APIView):
    """The athlete whose link signs the request logs a session."""

    @extend_schema(responses=KeptLogSerializer(many=True))
    def get(self, request: Request) -> Response:
        """The logs that count, of the last four weeks."""
        athlete = getattr(request.user, "athlete", None)
        return Response(KeptLogSerializer(logs_of(athlete, today()) if athlete else [], many=True).data)

    @extend_schema(request=LogSerializer, responses={201: LogSerializer})
    def post(self, request: Request) -> Response:
        serializer = LogSerializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        content, athlete = serializer.validated_data, getattr(request.user, "athlete", None)
        if athlete is None:
            raise PermissionDenied("Sign the request with an athlete's own link.")
        if content["date"] > today():
            raise serializers.ValidationError({"date": "That session is still to come. Log it from its day on."})
        session = session_to_log(athlete, content["session_key"], content["date"])
        if session is None:
            raise NotFound("No session of that day had targets for you. Look at your week, or ask a coach.")
        try:
            log = log_write(athlete=athlete, session=session, content=content, source=Log.Source.PHONE)
        except ValidationError as error:
            raise serializers.ValidationError({"entries": error.messages}) from None
        return Response({"key": str(log.key), "counts": not log.replaced}, status=status.HTTP_201_CREATED)
