"""What is kept of people, over the API: limitations, cautions set aside, and two who turn out to be one."""

from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import OfAthletes, ReadOnly, Rows, refusals_as_answers, refusals_as_conflicts
from athletes.api.strict import Strict
from athletes.audit.keeping import entry_about
from athletes.capacity.constants import PATTERNS
from athletes.gym.read import today
from athletes.models import Athlete, Limitation, Merge, Movement, Override
from athletes.people.merge import athletes_merge, merge_undo
from athletes.people.write import limitation_create, limitation_end, override_end, override_make


class LimitationSerializer(Strict, serializers.ModelSerializer):
    """What is out for an athlete: at least one pattern or movement, but for a pregnancy or an illness. `review_on` is
    the day on which it is back."""

    key = serializers.UUIDField(required=False, help_text="Made by the client: the same key again keeps one.")
    patterns = serializers.ListField(child=serializers.ChoiceField(PATTERNS), required=False)
    movements = Rows(queryset=Movement.objects.filter(archived=False), required=False)

    class Meta:
        model = Limitation
        fields = ["id", "key", "athlete", "kind", "patterns", "movements", "starts_on", "review_on", "note"]


class LimitationViewSet(mixins.CreateModelMixin, OfAthletes):
    """Limitations. They are never changed or deleted: end one, and enter another."""

    queryset = Limitation.objects.prefetch_related("movements")
    serializer_class = LimitationSerializer
    filterset_fields = ["athlete", "kind"]
    ordering_fields = ["starts_on", "review_on", "id"]

    def perform_create(self, serializer: LimitationSerializer) -> None:
        facts = dict(serializer.validated_data)
        movements = facts.pop("movements", [])
        with refusals_as_answers():
            limitation = Limitation(entered_by=self.request.user, **facts)
            serializer.instance = limitation_create(limitation=limitation, movements=movements)
        entry_about(self.request, limitation.athlete_id)

    @extend_schema(request=None, responses=LimitationSerializer)
    @action(detail=True, methods=["post"])
    def end(self, request: Request, pk: str | None = None) -> Response:
        """Let it end today."""
        return Response(self.get_serializer(limitation_end(limitation=self.get_object())).data)


class OverrideSerializer(Strict, serializers.ModelSerializer):
    """A computed caution that a coach sets aside from today until `ends_on`, with a reason that all staff see."""

    key = serializers.UUIDField(help_text="Made by the client: the same key again keeps one.")
    movement = serializers.PrimaryKeyRelatedField(
        queryset=Movement.objects.filter(archived=False, high_eccentric=True),
        allow_null=True,
        default=None,
        help_text="Only of the amount of a new movement; null: of all that make sore.",
    )

    class Meta:
        model = Override
        fields = ["id", "key", "athlete", "caution", "movement", "starts_on", "ends_on", "reason"]
        read_only_fields = ["starts_on"]
        extra_kwargs = {  # what is left blank is refused in the words of the page
            "reason": {"help_text": "Kept with your name, and seen by all staff. No diagnosis.", "allow_blank": True},
        }


class OverrideViewSet(mixins.CreateModelMixin, OfAthletes):
    """Cautions that are set aside. They are never changed or deleted: end one, and make another."""

    queryset = Override.objects.all()
    serializer_class = OverrideSerializer
    filterset_fields = ["athlete", "caution"]
    ordering_fields = ["starts_on", "ends_on", "id"]

    def perform_create(self, serializer: OverrideSerializer) -> None:
        with refusals_as_answers():
            serializer.instance = override_make(starts_on=today(), by=self.request.user, **serializer.validated_data)
        entry_about(self.request, serializer.instance.athlete_id)

    @extend_schema(request=None, responses=OverrideSerializer)
    @action(detail=True, methods=["post"])
    def end(self, request: Request, pk: str | None = None) -> Response:
        """Let the caution hold again from tomorrow."""
        return Response(self.get_serializer(override_end(override=self.get_object())).data)


class MergeSerializer(Strict, serializers.ModelSerializer):
    """`gone` turns out to be `keep`, who has everything of theirs from then on."""

    keep = serializers.PrimaryKeyRelatedField(queryset=Athlete.objects.all())
    gone = serializers.PrimaryKeyRelatedField(queryset=Athlete.objects.all())

    class Meta:
        model = Merge
        fields = ["id", "keep", "gone", "made_at", "undone_at"]
        read_only_fields = ["made_at", "undone_at"]


class MergeViewSet(mixins.CreateModelMixin, ReadOnly):
    """Two athletes who are one and the same; undone within a day."""

    queryset = Merge.objects.all()
    serializer_class = MergeSerializer
    filterset_fields = {"keep": ["exact"], "undone_at": ["isnull"]}
    ordering_fields = ["made_at", "id"]

    def perform_create(self, serializer: MergeSerializer) -> None:
        with refusals_as_answers():
            serializer.instance = athletes_merge(**serializer.validated_data, by=self.request.user)
        entry_about(self.request, serializer.instance.keep_id)

    @extend_schema(request=None, responses=MergeSerializer)
    @action(detail=True, methods=["post"])
    def undo(self, request: Request, pk: str | None = None) -> Response:
        """Part them again; 409 where it was more than a day ago."""
        kept = self.get_object()
        with refusals_as_conflicts():
            merge_undo(merge=kept, by=request.user)
        entry_about(request, kept.keep_id)
        return Response(self.get_serializer(self.get_object()).data)
