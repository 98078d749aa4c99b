from django.core.exceptions import ValidationError
from django.db.models import Prefetch
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status, viewsets
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import Editable, OfAthletes, ReadOnly, Refusals, refusals_as_conflicts
from athletes.api.problems import Conflict
from athletes.gym.read import today
from sessions.api.room import RoomSerializer, room_answer
from sessions.api.serializers import (
    CircuitDocumentSerializer,
    PublicationSerializer,
    TargetSerializer,
    WeekSerializer,
)
from sessions.circuits.freeze import definition_of
from sessions.circuits.read import with_stations
from sessions.circuits.write import CircuitChanged, circuit_change, circuit_create
from sessions.models import Circuit, PlannedSession, Publication, Target, Week
from sessions.publishing.write import bring_back, publication_cancel, publication_request
from sessions.weeks.read import monday_of
from sessions.weeks.write import week_write

NO_DELETE = ["get", "post", "put", "head", "options"]


class CircuitViewSet(Editable):
    """Circuits with stations and swap ladders; PUT writes the whole circuit.

    409 where a change was sent with a version that is not the latest: with what is kept, and what was sent.
    """

    queryset = with_stations(Circuit.objects.all())
    serializer_class = CircuitDocumentSerializer
    filterset_fields = ["archived"]
    ordering_fields = ["name", "id"]
    http_method_names = NO_DELETE

    def perform_create(self, serializer) -> None:
        data = serializer.validated_data
        try:
            saved = circuit_create(document=data, by=self.request.user, key=data.get("key"))
        except ValidationError as error:
            raise Conflict(" ".join(error.messages)) from None
        serializer.instance = self.get_queryset().get(pk=saved.pk)

    def perform_update(self, serializer) -> None:
        data = serializer.validated_data
        try:
            saved = circuit_change(circuit=serializer.instance, document=data, version=data.get("version"))
        except CircuitChanged as changed:
            kept = serializer.to_representation(changed.kept)
            raise Conflict(str(changed), kept=kept, sent=self.request.data) from None
        serializer.instance = self.get_queryset().get(pk=saved.pk)

    @extend_schema(responses=RoomSerializer)
    @action(detail=True, filterset_fields=[], pagination_class=None)
    def room(self, request: Request, pk: str | None = None) -> Response:
        """How the circuit scales over every active athlete on a hard day today."""
        return Response(room_answer(definition_of(self.get_object()), today()))


class WeekViewSet(Editable):
    """Weeks as they are written; what people see is a week's live publication."""

    queryset = Week.objects.prefetch_related(
        Prefetch("sessions", PlannedSession.objects.standing().prefetch_related("hours", "parts"))
    )
    serializer_class = WeekSerializer
    filterset_fields = ["starts_on"]
    ordering_fields = ["starts_on", "id"]
    http_method_names = NO_DELETE

    def perform_create(self, serializer) -> None:
        self._write(serializer, Week(starts_on=serializer.validated_data["starts_on"]))

    def perform_update(self, serializer) -> None:
        if serializer.validated_data["starts_on"] != serializer.instance.starts_on:
            raise serializers.ValidationError({"starts_on": "A week stays where it is. Write another week instead."})
        self._write(serializer, serializer.instance)

    def _write(self, serializer, week: Week) -> None:
        data = serializer.validated_data
        try:
            written = week_write(week=week, note=data.get("note", week.note), sessions=data.get("sessions"))
        except ValidationError as error:
            raise serializers.ValidationError({"sessions": error.messages}) from None
        serializer.instance = self.get_queryset().get(pk=written.pk)

    @extend_schema(request=None, responses={202: PublicationSerializer})
    @action(detail=True, methods=["post"])
    def publish(self, request: Request, pk: str | None = None) -> Response:
        """Freeze the week and send it to the worker; 409, with what to do, when it cannot be published now."""
        try:
            publication = publication_request(week=self.get_object(), by=request.user)
        except ValidationError as error:
            raise Conflict(" ".join(error.messages)) from None
        return Response(PublicationSerializer(publication).data, status=status.HTTP_202_ACCEPTED)


class PublicationViewSet(ReadOnly):
    """Revisions of weeks, as far as they are made; one of a week is live."""

    queryset = Publication.objects.order_by("-week__starts_on", "-revision")
    serializer_class = PublicationSerializer
    filterset_fields = ["week", "state"]
    ordering_fields = ["requested_at", "revision", "id"]

    @extend_schema(request=None, responses=PublicationSerializer)
    @action(detail=True, methods=["post"])
    def cancel(self, request: Request, pk: str | None = None) -> Response:
        """Stop a publishing that is under way; one that is over stays as it is. What is live stays so."""
        publication_cancel(publication=self.get_object(), by=request.user)
        return Response(self.get_serializer(self.get_object()).data)

    @extend_schema(request=None, responses={202: PublicationSerializer})
    @action(detail=True, methods=["post"], url_path="bring-back")
    def bring_back(self, request: Request, pk: str | None = None) -> Response:
        """Publish an earlier revision again, as a new one with its targets; 409, with what to do, when it cannot be."""
        with refusals_as_conflicts():
            publication = bring_back(publication=self.get_object(), by=request.user)
        return Response(self.get_serializer(publication).data, status=status.HTTP_202_ACCEPTED)


class TargetViewSet(OfAthletes):
    """Frozen targets of every revision; filter by publication, session, athlete or the publication's state."""

    # What is still being worked out is nobody's business yet.
    queryset = (
        Target.objects.filter(publication__state__in=[Publication.State.LIVE, Publication.State.SUPERSEDED])
        .select_related("session")
        .order_by("pk")
    )
    serializer_class = TargetSerializer
    filterset_fields = ["publication", "session", "athlete", "publication__state"]
    ordering_fields = ["id", "athlete", "station"]


class MyTargetsViewSet(Refusals, mixins.ListModelMixin, viewsets.GenericViewSet):
    """The live targets, from this week on, of the athlete whose link signs the request."""

    queryset = Target.objects.none()
    serializer_class = TargetSerializer
    filter_backends = []

    def get_queryset(self):
        athlete = getattr(self.request.user, "athlete", None)
        live = Target.objects.filter(athlete=athlete, publication__state=Publication.State.LIVE)
        coming = live.filter(session__date__gte=monday_of(today()))
        return coming.select_related("session").order_by("session__date", "station")
