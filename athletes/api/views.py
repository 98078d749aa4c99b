from copy import copy

from drf_spectacular.utils import extend_schema
from rest_framework import mixins, status, viewsets
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import Editable, OfAthletes, Refusals, refusals_as_answers
from athletes.api.problems import MEDIA_TYPE, Conflict
from athletes.api.serializers import (
    AthleteSerializer,
    BenchmarkSerializer,
    CueSerializer,
    EffortSerializer,
    EstimateSerializer,
    MovementSerializer,
    QuestionSerializer,
    VoidSerializer,
)
from athletes.efforts.write import EffortQuestioned, effort_record, effort_void
from athletes.estimates.read import numbers_of
from athletes.models import Account, Athlete, Benchmark, Effort, Movement
from athletes.movements.write import movement_changed
from athletes.people.read import ids_found
from athletes.people.write import athlete_change, athlete_create

# Rows are put away, not deleted: what rests on them must stay readable.
NO_DELETE = ["get", "post", "put", "patch", "head", "options"]


class AthleteViewSet(Editable):
    """Athletes. `search` forgives accents, case and the order of the words."""

    queryset = Athlete.objects.all()
    serializer_class = AthleteSerializer
    filterset_fields = ["active"]
    ordering_fields = ["name", "board_name", "joined_on", "id"]
    http_method_names = NO_DELETE

    def search(self, query: str) -> list[int]:
        return ids_found(query)

    def perform_create(self, serializer: AthleteSerializer) -> None:
        with refusals_as_answers():
            athlete = Athlete(**serializer.validated_data)
            serializer.instance = athlete_create(athlete=athlete, by=self.request.user)

    def perform_update(self, serializer: AthleteSerializer) -> None:
        for name, value in serializer.validated_data.items():
            setattr(serializer.instance, name, value)
        with refusals_as_answers():
            athlete_change(athlete=serializer.instance, by=self.request.user)

    @extend_schema(responses=EstimateSerializer(many=True))
    @action(detail=True, filterset_fields=[], pagination_class=None)
    def estimates(self, request: Request, pk: str | None = None) -> Response:
        """What own efforts and logs say of each engine and movement, as numbers; the model's figures for coaches."""
        lines = numbers_of(self.get_object())["estimates"]
        return Response(EstimateSerializer(lines, many=True, context={"figures": request.user.coaches}).data)


class MovementViewSet(Editable):
    """Movements: for coaches to write; staff change the cues, as on the page."""

    queryset = Movement.objects.select_related("machine_type", "rack", "easier_form")
    serializer_class = MovementSerializer
    filterset_fields = ["engine", "kind", "archived"]
    ordering_fields = ["name", "slug", "id"]
    http_method_names = NO_DELETE

    def get_serializer_class(self) -> type[MovementSerializer]:
        staff = getattr(getattr(self.request, "user", None), "role", "") == Account.Role.STAFF
        return CueSerializer if staff and self.action in ("update", "partial_update") else MovementSerializer

    def perform_update(self, serializer: MovementSerializer) -> None:
        before = copy(serializer.instance)
        movement_changed(before=before, after=serializer.save())


class BenchmarkViewSet(Editable):
    queryset = Benchmark.objects.select_related("movement")
    serializer_class = BenchmarkSerializer
    filterset_fields = ["measure", "archived"]
    ordering_fields = ["name", "slug", "id"]
    http_method_names = NO_DELETE


class EffortViewSet(mixins.CreateModelMixin, OfAthletes):
    """Efforts. They are never changed: void one with a reason, and send the right one."""

    queryset = Effort.objects.all()
    serializer_class = EffortSerializer
    filterset_fields = {"athlete": ["exact"], "benchmark": ["exact"], "performed_on": ["exact", "gte", "lte"]}
    ordering_fields = ["performed_on", "entered_at", "id"]

    @extend_schema(responses={201: EffortSerializer, (409, MEDIA_TYPE): QuestionSerializer})
    def create(self, request: Request, *args, **kwargs) -> Response:
        form = self.get_serializer(data=request.data)
        form.is_valid(raise_exception=True)
        names = ("athlete", "benchmark", "typed", "performed_on", "key", "confirmed")
        given = {name: form.validated_data[name] for name in names if name in form.validated_data}
        try:
            with refusals_as_answers():
                effort = effort_record(by=request.user, **given)
        except EffortQuestioned as question:
            raise Conflict("Is this right? Send it again with confirmed to keep it.", question=str(question)) from None
        return Response(self.get_serializer(effort).data, status=status.HTTP_201_CREATED)

    @extend_schema(request=VoidSerializer, responses=EffortSerializer)
    @action(detail=True, methods=["post"])
    def void(self, request: Request, pk: str | None = None) -> Response:
        form = VoidSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        effort = effort_void(effort=self.get_object(), reason=form.validated_data["reason"], by=request.user)
        return Response(self.get_serializer(effort).data)


class MyBenchmarksViewSet(Refusals, mixins.ListModelMixin, viewsets.GenericViewSet):
    """The standing efforts of the athlete whose link signs the request."""

    queryset = Effort.objects.none()
    serializer_class = EffortSerializer
    filter_backends = []

    def get_queryset(self):
        return Effort.objects.standing().filter(athlete=getattr(self.request.user, "athlete", None))
