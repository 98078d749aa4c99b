"""Builds over the API: a circuit that recurs or grows, and what is decided after each time."""

from typing import Any

from django.db.models import Prefetch
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.exceptions import NotFound
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import HourField, ReadOnly, refusals_as_answers, valid, valid_form
from athletes.api.strict import Strict
from athletes.fields import MOST_CLASS_TIMES
from athletes.gym.read import today
from sessions.builds.forms import EASED, BuildForm, shape_of
from sessions.builds.propose import SENTENCES, proposal
from sessions.builds.steps import MOST_SESSIONS
from sessions.builds.write import build_start, decide, decision_undo
from sessions.models import Build, Circuit, Grows, PlannedSession
from sessions.models.week import Intent

DECISIONS = list(SENTENCES)


class BuildSessionSerializer(serializers.ModelSerializer):
    """A session of a build, where it stands now; `place` is that of its step, from 0."""

    place = serializers.IntegerField(source="build_step")

    class Meta:
        model = PlannedSession
        fields = ["key", "place", "date"]
        extra_kwargs = {"key": {"validators": []}}


class DecisionSerializer(serializers.Serializer):
    place = serializers.IntegerField(help_text="Of the step after which it was decided, from 0.")
    decision = serializers.ChoiceField(DECISIONS)


class BuildSerializer(serializers.ModelSerializer):
    """A circuit that recurs on a weekday. `steps` are what is asked for each time: rounds, per cent of the dose,
    or seconds of an interval, as it `grows`; `eased` are the places of the easier ones, from 0."""

    hours = serializers.ListField(child=serializers.CharField())
    steps = serializers.ListField(child=serializers.IntegerField())
    eased = serializers.ListField(child=serializers.IntegerField())
    decisions = serializers.SerializerMethodField()
    sessions = BuildSessionSerializer(many=True)

    class Meta:
        model = Build
        fields = ["id", "key", "circuit", "starts_on", "every", "hours", "intent", "grows", "steps", "eased"]
        fields += ["decisions", "sessions"]

    @extend_schema_field(DecisionSerializer(many=True))
    def get_decisions(self, build: Build) -> list[dict[str, Any]]:
        decided = sorted((int(place), kept["decision"]) for place, kept in build.decisions.items())
        return [{"place": place, "decision": decision} for place, decision in decided]


class StartSerializer(Strict, serializers.Serializer):
    """A build as it is planned. Its `steps` are drawn from the `first` to the `last` time, unless they are sent."""

    key = serializers.UUIDField(required=False, help_text="Made by the client: the same key again starts one build.")
    circuit = serializers.PrimaryKeyRelatedField(queryset=Circuit.objects.filter(archived=False))
    starts_on = serializers.DateField()
    until = serializers.DateField(help_text=f"At most {MOST_SESSIONS} times are planned.")
    every = serializers.ChoiceField(Build._meta.get_field("every").choices, default=1)
    hours = serializers.ListField(child=HourField(), min_length=1, max_length=MOST_CLASS_TIMES)
    intent = serializers.ChoiceField(Intent.choices, default=Intent.HARD)
    grows = serializers.ChoiceField(Grows.choices, default=Grows.ROUNDS)
    first = serializers.IntegerField(
        min_value=1, max_value=900, required=False, help_text="Minutes, % of the dose, or seconds an interval."
    )
    last = serializers.IntegerField(min_value=1, max_value=900, required=False)
    eased = serializers.ChoiceField(EASED, default=4, help_text="Every so manieth time is easier; 0: none.")
    steps = serializers.ListField(
        child=serializers.IntegerField(min_value=1, max_value=900), max_length=MOST_SESSIONS, required=False
    )


class DecideSerializer(Strict, serializers.Serializer):
    place = serializers.IntegerField(min_value=0, max_value=MOST_SESSIONS)
    decision = serializers.ChoiceField(DECISIONS)


class PlaceSerializer(Strict, serializers.Serializer):
    place = serializers.IntegerField(min_value=0, max_value=MOST_SESSIONS)


class OfAthleteSerializer(serializers.Serializer):
    """What an athlete's log of the step says. `rpe` as it was said, `expected` as it was meant to be."""

    athlete = serializers.IntegerField(source="athlete.pk")
    held = serializers.BooleanField(help_text="Every round at every station.")
    rpe = serializers.FloatField(allow_null=True)
    expected = serializers.FloatField(allow_null=True)
    stopped = serializers.BooleanField()
    decision = serializers.ChoiceField(DECISIONS, source="proposal", help_text="What is proposed for them alone.")
    reason = serializers.CharField()


class ProposalSerializer(serializers.Serializer):
    """What is proposed after the newest step that is over; an empty `decision` where too few have logged it."""

    place = serializers.IntegerField()
    day = serializers.DateField()
    came = serializers.IntegerField()
    decision = serializers.ChoiceField(["", *DECISIONS])
    decided = serializers.CharField(allow_blank=True, help_text="What a coach decided after it.")
    reason = serializers.CharField()
    athletes = OfAthleteSerializer(many=True, source="logs")


class BuildViewSet(ReadOnly):
    """Builds. Their sessions stand in their weeks; a decision shows once those weeks are published."""

    queryset = Build.objects.prefetch_related(
        Prefetch("sessions", PlannedSession.objects.standing().select_related("week").order_by("build_step"))
    )
    serializer_class = BuildSerializer
    filterset_fields = ["circuit", "grows"]
    ordering_fields = ["starts_on", "id"]

    @extend_schema(request=StartSerializer, responses={201: BuildSerializer})
    def create(self, request: Request) -> Response:
        """Put its sessions into their weeks, beside what is there."""
        said = valid(StartSerializer, request)
        found = _planned(said)
        build = Build(
            hours=[f"{hour:%H:%M}" for hour in found["hours"]],
            steps=found["steps"],
            eased=found["eased_places"],
            **{name: found[name] for name in ("circuit", "starts_on", "every", "intent", "grows")},
            **({"key": said["key"]} if "key" in said else {}),
        )
        with refusals_as_answers():
            build = build_start(build=build, by=request.user)
        return Response(self._answer(build), status=status.HTTP_201_CREATED)

    @extend_schema(responses=ProposalSerializer)
    @action(detail=True, filterset_fields=[], pagination_class=None)
    def proposal(self, request: Request, pk: str | None = None) -> Response:
        """Progress, hold or step back after the newest step; 404 before the first is over."""
        found = proposal(self.get_object(), today())
        if found is None:
            raise NotFound("Nothing is proposed before the first time is over.")
        return Response(ProposalSerializer(found).data)

    @extend_schema(request=DecideSerializer, responses=BuildSerializer)
    @action(detail=True, methods=["post"])
    def decide(self, request: Request, pk: str | None = None) -> Response:
        """Progress as planned, hold it once more, or step back after a step; sessions to come change with it."""
        said, build = valid(DecideSerializer, request), self.get_object()
        _refuse_no_step(build, said["place"])
        decide(build=build, day=today(), **said)
        return Response(self._answer(build))

    @extend_schema(request=PlaceSerializer, responses=BuildSerializer)
    @action(detail=True, methods=["post"])
    def undo(self, request: Request, pk: str | None = None) -> Response:
        """Take back what was decided after a step."""
        said, build = valid(PlaceSerializer, request), self.get_object()
        _refuse_no_step(build, said["place"])
        decision_undo(build=build, place=said["place"], day=today())
        return Response(self._answer(build))

    def _answer(self, build: Build) -> dict[str, Any]:
        return self.get_serializer(self.get_queryset().get(pk=build.pk)).data


def _refuse_no_step(build: Build, place: int) -> None:
    if place >= len(build.steps):
        raise serializers.ValidationError({"place": ["This build has no such step."]})


def _planned(said: dict) -> dict[str, Any]:
    """What the page's own form makes of it; refused by field."""
    if said["grows"] == Grows.NOTHING and said.get("steps"):
        raise serializers.ValidationError({"steps": ["Nothing grows: leave them out."]})
    sent = {**said, "circuit": said["circuit"].pk, "hours": ", ".join(f"{hour:%H:%M}" for hour in said["hours"])}
    found = valid_form(BuildForm(sent))
    steps = said.get("steps")
    if steps is None:
        return found
    if len(steps) != len(found["steps"]):
        raise serializers.ValidationError({"steps": [f"Send {len(found['steps'])} steps, one a time."]})
    return valid_form(BuildForm(sent, steps=[str(step) for step in steps], drawn_of=shape_of(found)))
