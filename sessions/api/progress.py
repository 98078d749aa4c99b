"""How an athlete comes along, over the API: the numbers of the progress page."""

from datetime import timedelta
from typing import Any

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers, viewsets
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import Refusals
from athletes.estimates.people import people_of
from athletes.gym.read import today
from athletes.models import Athlete
from sessions.progress.benchmarks import predicted
from sessions.progress.read import ResultHistory, done_between, histories
from sessions.progress.report import goals
from sessions.progress.training import WEEKS, training_weeks
from sessions.weeks.read import monday_of


class MarkSerializer(serializers.Serializer):
    """An effort; `value` in the unit of its benchmark, of a lift in kilograms with its `repetitions`."""

    effort = serializers.IntegerField(source="effort.pk")
    performed_on = serializers.DateField(source="effort.performed_on")
    value = serializers.FloatField(source="effort.value")
    repetitions = serializers.IntegerField(source="effort.repetitions", allow_null=True)
    best = serializers.BooleanField(help_text="The best up to its day.")
    counts = serializers.BooleanField(help_text="False where the other efforts contradict it.")


class PredictionSerializer(serializers.Serializer):
    """What may be expected today, with its 80 % interval; of a lift once."""

    value = serializers.FloatField()
    low = serializers.FloatField()
    high = serializers.FloatField()
    firmness = serializers.CharField(help_text="firm, fair or rough.")


class HistorySerializer(serializers.Serializer):
    benchmark = serializers.IntegerField(source="benchmark.pk")
    unit = serializers.CharField(source="benchmark.value_unit")
    results = MarkSerializer(many=True, source="marks")
    expected = serializers.SerializerMethodField()

    @extend_schema_field(PredictionSerializer)
    def get_expected(self, history: ResultHistory) -> dict[str, Any]:
        return PredictionSerializer(self.context["predictions"][history.benchmark.pk]).data


class DoneSerializer(serializers.Serializer):
    date = serializers.DateField()
    name = serializers.CharField()
    rpe = serializers.FloatField(allow_null=True)
    minutes = serializers.FloatField()
    share = serializers.FloatField(allow_null=True, help_text="Of what was asked; null where no station was logged.")
    load = serializers.FloatField(allow_null=True, help_text="RPE × minutes.")


class WeekLoadSerializer(serializers.Serializer):
    """A week's load [RPE × minutes]; of what nobody logged nothing is known."""

    monday = serializers.DateField()
    sessions = serializers.IntegerField(help_text="Logged.")
    load = serializers.FloatField(allow_null=True)
    unknown = serializers.IntegerField(help_text="Days that may hold more.")
    monotony = serializers.FloatField(allow_null=True, help_text="Where all seven days are known, and differ.")
    strain = serializers.FloatField(allow_null=True)


class ProgressSerializer(serializers.Serializer):
    """Results of every benchmark, the sessions logged in a year, and the load of each week of half a year."""

    benchmarks = HistorySerializer(many=True)
    sessions = DoneSerializer(many=True)
    weeks = WeekLoadSerializer(many=True)
    caution = serializers.CharField(help_text="Why not to go all out today; empty where nothing speaks against it.")
    next = serializers.ListField(child=serializers.CharField(), help_text="What comes next.")


class ProgressViewSet(Refusals, viewsets.GenericViewSet):
    queryset = Athlete.objects.all()
    serializer_class = ProgressSerializer
    filter_backends: list[Any] = []

    @extend_schema(responses=ProgressSerializer)
    def progress(self, request: Request, pk: int) -> Response:
        """How an athlete comes along: results and what is expected, what was done of what was asked, load by week."""
        athlete, day = self.get_object(), today()
        found, first = histories(athlete), monday_of(day) - timedelta(weeks=WEEKS - 1)
        predictions = predicted(people_of([athlete]), [history.benchmark for history in found]) if found else {}
        done = done_between(athlete, day - timedelta(weeks=53), day)
        caution, coming = goals(athlete, found, predictions, day)
        recent = [one for one in done if one.date >= first]
        weeks = training_weeks(athlete, recent, first, day, day)
        answer = {"benchmarks": found, "sessions": done, "weeks": weeks, "caution": caution, "next": coming}
        return Response(ProgressSerializer(answer, context={"predictions": predictions}).data)
