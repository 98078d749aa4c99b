"""Who is used to much of a movement that makes sore, over the API: what coaches said where no record tells."""

from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, viewsets
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import Refusals, Rows, valid
from athletes.api.strict import Strict
from athletes.models import Accustomed, Athlete, Movement
from sessions.room.accustomed import accustomed_say, accustomed_take_back, said_of

MOST_AT_ONCE = 500


class AccustomedSerializer(serializers.ModelSerializer):
    class Meta:
        model = Accustomed
        fields = ["id", "athlete", "movement", "accustomed", "said_at"]


class OfWhomSerializer(Strict, serializers.Serializer):
    movement = serializers.PrimaryKeyRelatedField(queryset=Movement.objects.all())
    athletes = Rows(queryset=Athlete.objects.all(), allow_empty=False, max_length=MOST_AT_ONCE)


class SaySerializer(OfWhomSerializer):
    accustomed = serializers.BooleanField(help_text="Whether all of these athletes are used to it.")


class AnswersSerializer(serializers.Serializer):
    said = AccustomedSerializer(many=True)


class AccustomedViewSet(Refusals, mixins.ListModelMixin, viewsets.GenericViewSet):
    """Whether athletes are used to much of a movement that makes sore, as coaches said."""

    queryset = Accustomed.objects.order_by("movement", "athlete")
    serializer_class = AccustomedSerializer
    filterset_fields = ["athlete", "movement", "accustomed"]
    ordering_fields = ["movement", "athlete", "said_at", "id"]

    @extend_schema(request=SaySerializer, responses={200: AnswersSerializer})
    def create(self, request: Request) -> Response:
        """Say it of several athletes; what was said of them before gives way. Answers with what is said of them now."""
        said = valid(SaySerializer, request)
        asked = [athlete.pk for athlete in said["athletes"]]
        used = asked if said["accustomed"] else []
        accustomed_say(movement=said["movement"], asked=asked, used=used, by=request.user)
        return Response(AnswersSerializer({"said": said_of(said["movement"]).filter(athlete__in=asked)}).data)

    @extend_schema(request=OfWhomSerializer, responses={204: None})
    @action(detail=False, methods=["post"], url_path="take-back")
    def take_back(self, request: Request) -> Response:
        """Ask again about these athletes."""
        of = valid(OfWhomSerializer, request)
        accustomed_take_back(movement=of["movement"], athletes=[athlete.pk for athlete in of["athletes"]])
        return Response(status=204)
