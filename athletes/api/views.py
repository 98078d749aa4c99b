from django.core.exceptions import ValidationError
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status, viewsets
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.serializers import (
    AthleteSerializer,
    BenchmarkSerializer,
    EffortSerializer,
    MovementSerializer,
    QuestionSerializer,
    VoidSerializer,
)
from athletes.models import Athlete, Benchmark, Effort, Movement
from athletes.services.efforts import EffortQuestioned, effort_record, effort_void

# Rows are put away, not deleted: what rests on them must stay readable.
NO_DELETE = ["get", "post", "put", "patch", "head", "options"]


class AthleteViewSet(viewsets.ModelViewSet):
    queryset = Athlete.objects.all()
    serializer_class = AthleteSerializer
    filterset_fields = ["active"]
    http_method_names = NO_DELETE


class MovementViewSet(viewsets.ReadOnlyModelViewSet):
    queryset = Movement.objects.all()
    serializer_class = MovementSerializer
    filterset_fields = ["engine", "kind", "archived"]


class BenchmarkViewSet(viewsets.ModelViewSet):
    queryset = Benchmark.objects.select_related("movement")
    serializer_class = BenchmarkSerializer
    filterset_fields = ["measure", "archived"]
    http_method_names = NO_DELETE


class EffortViewSet(mixins.CreateModelMixin, viewsets.ReadOnlyModelViewSet):
    """Efforts. They are never changed: void one with a reason, and send the right one."""

    queryset = Effort.objects.all()
    serializer_class = EffortSerializer
    filterset_fields = {"athlete": ["exact"], "benchmark": ["exact"], "performed_on": ["exact", "gte", "lte"]}

    @extend_schema(responses={201: EffortSerializer, 409: QuestionSerializer})
    def create(self, request: Request, *args, **kwargs) -> Response:
        form = self.get_serializer(data=request.data)
        form.is_valid(raise_exception=True)
        names = ("athlete", "benchmark", "typed", "performed_on", "key", "confirmed")
        given = {name: form.validated_data[name] for name in names if name in form.validated_data}
        try:
            effort = effort_record(by=request.user, **given)
        except EffortQuestioned as question:
            return Response({"question": str(question)}, status=status.HTTP_409_CONFLICT)
        except ValidationError as error:
            raise serializers.ValidationError(serializers.as_serializer_error(error)) from None
        return Response(self.get_serializer(effort).data, status=status.HTTP_201_CREATED)

    @extend_schema(request=VoidSerializer, responses=EffortSerializer)
    @action(detail=True, methods=["post"])
    def void(self, request: Request, pk: str | None = None) -> Response:
        form = VoidSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        effort = effort_void(effort=self.get_object(), reason=form.validated_data["reason"], by=request.user)
        return Response(self.get_serializer(effort).data)


class MyBenchmarksViewSet(mixins.ListModelMixin, viewsets.GenericViewSet):
    """The standing efforts of the athlete whose link signs the request."""

    queryset = Effort.objects.none()
    serializer_class = EffortSerializer
    filter_backends = []

    def get_queryset(self):
        return Effort.objects.standing().filter(athlete=getattr(self.request.user, "athlete", None))
