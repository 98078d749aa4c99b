"""Test days over the API: planned, moved, and the results of their grid."""

from dataclasses import asdict

from django.db.models import Prefetch
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import ReadOnly, Rows, found, refusals_as_answers, refusals_as_conflicts, valid
from athletes.api.problems import MEDIA_TYPE, Conflict, ProblemSerializer
from athletes.api.strict import Strict
from athletes.efforts.parsing import LONGEST
from athletes.models import Athlete, Benchmark, Machine, TestDay, TestSlot
from athletes.trials.cells import State, Write, cell_write
from athletes.trials.grid import entries_of, places_of
from athletes.trials.kept_out import kept_out
from athletes.trials.read import elsewhere_that_day, machines_on_floor
from athletes.trials.write import MOST_TESTS, test_day_add, test_day_move, test_day_plan, test_day_take_off

ONLY_A_COACH = "Only a coach has somebody tested who should not go all out now. Leave this out, or ask a coach."


class SlotSerializer(serializers.ModelSerializer):
    """A test of one athlete; heat 0: whenever there is room. `outcome` is how it ended without a number."""

    class Meta:
        model = TestSlot
        fields = ["athlete", "benchmark", "heat", "machine", "starts_at", "expected_s", "outcome", "insisted"]


class TestDaySerializer(serializers.ModelSerializer):
    """A test day with its heats in order."""

    __test__ = False  # not a test, whatever its name

    slots = SlotSerializer(many=True)

    class Meta:
        model = TestDay
        fields = ["id", "key", "date", "starts_at", "rest_s", "change_over_s", "slots"]


class TestSerializer(serializers.Serializer):
    """A test of one athlete."""

    __test__ = False  # not a test, whatever its name

    athlete = serializers.IntegerField(min_value=1, max_value=2**62)
    benchmark = serializers.IntegerField(min_value=1, max_value=2**62)


class InsistedSerializer(serializers.Serializer):
    """Whom a coach has tested although they should not go all out now, and why."""

    athlete = serializers.IntegerField(min_value=1, max_value=2**62)
    reason = serializers.CharField(max_length=200)


class PlanSerializer(Strict, serializers.ModelSerializer):
    """Who is tested on what, on which machines; left out, `machines` are all that are on the floor."""

    key = serializers.UUIDField(required=False, help_text="Made by the client: the same key again plans one day.")
    tests = TestSerializer(many=True, min_length=1, max_length=MOST_TESTS)
    machines = Rows(queryset=Machine.objects.filter(active=True), required=False)
    open_places = serializers.IntegerField(
        min_value=1, max_value=60, default=6, help_text="How many do at once what needs no machine."
    )
    insisted = InsistedSerializer(many=True, max_length=MOST_TESTS, required=False, help_text="For coaches to send.")

    class Meta:
        model = TestDay
        fields = ["key", "date", "starts_at", "rest_s", "change_over_s", "tests", "machines", "open_places", "insisted"]
        extra_kwargs = {"rest_s": {"default": 900}, "change_over_s": {"default": 120}}

    def validate_tests(self, tests: list[dict]) -> set[tuple[int, int]]:
        found(Athlete.objects.filter(active=True), [test["athlete"] for test in tests])
        found(Benchmark.objects.filter(archived=False), [test["benchmark"] for test in tests])
        return {(test["athlete"], test["benchmark"]) for test in tests}

    def validate_insisted(self, insisted: list[dict]) -> dict[int, str]:
        found(Athlete.objects.filter(active=True), [one["athlete"] for one in insisted])
        return {one["athlete"]: one["reason"] for one in insisted}

    def validate(self, plan: dict) -> dict:
        tested = {athlete for athlete, _ in plan["tests"]}
        if alone := sorted(set(plan.get("insisted", {})) - tested):
            raise serializers.ValidationError({"insisted": [f"In no test: {', '.join(map(str, alone))}."]})
        return plan


class PlannedSerializer(serializers.Serializer):
    """The day as it was planned or moved, and in words who is left out, or should not be tested on it, and why."""

    test_day = TestDaySerializer()
    left_out = serializers.ListField(child=serializers.CharField())
    elsewhere = serializers.ListField(
        child=serializers.IntegerField(), help_text="Athletes who are in another plan of that day too."
    )


class MoveSerializer(Strict, serializers.Serializer):
    """To another date or first start, from where it was `seen`."""

    seen_date = serializers.DateField()
    seen_starts_at = serializers.TimeField()
    date = serializers.DateField()
    starts_at = serializers.TimeField()


class AddSerializer(Strict, serializers.Serializer):
    """Someone who came unplanned."""

    athlete = serializers.PrimaryKeyRelatedField(queryset=Athlete.objects.filter(active=True))
    benchmarks = Rows(queryset=Benchmark.objects.filter(archived=False).select_related("movement"), allow_empty=False)
    insisted = serializers.CharField(max_length=200, required=False, default="", help_text="Why all the same: a coach.")


class TakeOffSerializer(Strict, serializers.Serializer):
    """Someone on the list."""

    athlete = serializers.PrimaryKeyRelatedField(queryset=Athlete.objects.all())


class KeptOutSerializer(serializers.Serializer):
    """In words, who is on the list and should not do a test of it, and why."""

    kept_out = serializers.ListField(child=serializers.CharField())


class CellSerializer(serializers.Serializer):
    """What stands in a cell of the grid."""

    athlete = serializers.IntegerField()
    benchmark = serializers.IntegerField()
    effort = serializers.IntegerField(help_text="Id of the effort; 0 for none, below 0 for an end without a number.")
    typed = serializers.CharField(allow_blank=True)
    shown = serializers.CharField(allow_blank=True)
    best = serializers.BooleanField(help_text="A personal best.")
    by = serializers.CharField(allow_blank=True)


class EntrySerializer(Strict, serializers.Serializer):
    """A result as it is typed, or “stopped”, or “could not do it”; empty takes back what stands there."""

    athlete = serializers.PrimaryKeyRelatedField(queryset=Athlete.objects.all())
    benchmark = serializers.PrimaryKeyRelatedField(queryset=Benchmark.objects.select_related("movement__machine_type"))
    typed = serializers.CharField(max_length=LONGEST, allow_blank=True)
    key = serializers.UUIDField(help_text="Made by the client: the same key again keeps one result.")
    base = serializers.IntegerField(
        default=0, min_value=-(2**62), max_value=2**62, help_text="`effort` of the cell as it was seen."
    )
    confirmed = serializers.BooleanField(default=False, help_text="Keep a result that was questioned (answer 409).")


class EntryProblemSerializer(ProblemSerializer):
    """Why a result was not kept: it is questioned, or somebody else entered something meanwhile."""

    state = serializers.ChoiceField([State.QUESTIONED, State.CHANGED])
    cell = CellSerializer()


class TestDayViewSet(mixins.DestroyModelMixin, ReadOnly):
    """Test days, the newest first. One that is deleted leaves the results that were entered with the athletes."""

    __test__ = False  # not a test, whatever its name

    queryset = TestDay.objects.prefetch_related(Prefetch("slots", TestSlot.objects.order_by("heat", "pk")))
    serializer_class = TestDaySerializer
    filterset_fields = {"date": ["exact", "gte", "lte"]}
    ordering_fields = ["date", "id"]

    @extend_schema(request=PlanSerializer, responses={201: PlannedSerializer})
    def create(self, request: Request) -> Response:
        """Plan a day: heats are made for the machines that are there."""
        said = valid(PlanSerializer, request)
        insisted = said.pop("insisted", {})
        if insisted and not request.user.coaches:
            raise PermissionDenied(ONLY_A_COACH)
        said["machines"] = said.get("machines", machines_on_floor())
        key = {"key": said.pop("key", None) or TestDay().key}
        with refusals_as_answers():
            day, left_out = test_day_plan(**key, **said, insisted=insisted, by=request.user)
        return self._planned(day, left_out, status.HTTP_201_CREATED)

    @extend_schema(request=MoveSerializer, responses=PlannedSerializer)
    @action(detail=True, methods=["post"])
    def move(self, request: Request, pk: str | None = None) -> Response:
        """Move the day and its heats; 409 where it cannot go there."""
        said = valid(MoveSerializer, request)
        seen = said.pop("seen_date"), said.pop("seen_starts_at")
        with refusals_as_conflicts():
            day, off = test_day_move(test_day=self.get_object(), seen=seen, **said)
        return self._planned(day, off)

    @extend_schema(request=AddSerializer, responses=PlannedSerializer)
    @action(detail=True, methods=["post"])
    def add(self, request: Request, pk: str | None = None) -> Response:
        """Someone who came unplanned: tests without a heat."""
        said, day = valid(AddSerializer, request), self.get_object()
        if said["insisted"] and not request.user.coaches:
            raise PermissionDenied(ONLY_A_COACH)
        with refusals_as_conflicts():
            left_out = test_day_add(test_day=day, **said)
        return self._planned(day, left_out)

    @extend_schema(request=TakeOffSerializer, responses=PlannedSerializer)
    @action(detail=True, methods=["post"], url_path="take-off", filterset_fields=[], pagination_class=None)
    def take_off(self, request: Request, pk: str | None = None) -> Response:
        """Someone who is not tested that day after all."""
        said, day = valid(TakeOffSerializer, request), self.get_object()
        with refusals_as_conflicts():
            test_day_take_off(test_day=day, **said)
        return self._planned(day, kept_out(day))

    @extend_schema(responses=KeptOutSerializer)
    @action(detail=True, url_path="kept-out", filterset_fields=[], pagination_class=None)
    def kept_out(self, request: Request, pk: str | None = None) -> Response:
        """Who should not be tested on the day, as far as is known now."""
        return Response({"kept_out": kept_out(self.get_object())})

    @extend_schema(methods=["GET"], responses=CellSerializer(many=True))
    @extend_schema(
        methods=["POST"],
        request=EntrySerializer,
        responses={200: CellSerializer, (409, MEDIA_TYPE): EntryProblemSerializer},
    )
    @action(detail=True, methods=["get", "post"], filterset_fields=[], pagination_class=None)
    def entries(self, request: Request, pk: str | None = None) -> Response:
        """GET: what stands in the cells that are not empty. POST: what was typed in one of them."""
        day = self.get_object()
        if request.method != "POST":
            return Response([_cell(*place, entry) for place, entry in entries_of(day, places_of(day)).items()])
        said = valid(EntrySerializer, request)
        place = {"athlete": said.pop("athlete"), "benchmark": said.pop("benchmark")}
        outcome = cell_write(test_day=day, **place, write=Write(**said), by=request.user)
        cell = _cell(place["athlete"].pk, place["benchmark"].pk, outcome.entry)
        if outcome.state == State.REFUSED:
            raise serializers.ValidationError({"typed": [outcome.words]})
        if outcome.state != State.SAVED:
            raise Conflict(outcome.words, state=str(outcome.state), cell=cell)
        return Response(cell)

    def _planned(self, day: TestDay, left_out: list[str], code: int = status.HTTP_200_OK) -> Response:
        planned = self.get_queryset().get(pk=day.pk)
        told = {"test_day": self.get_serializer(planned).data, "left_out": left_out}
        return Response({**told, "elsewhere": [athlete.pk for athlete in elsewhere_that_day(day)]}, status=code)


def _cell(athlete: int, benchmark: int, entry) -> dict:
    return {"athlete": athlete, "benchmark": benchmark, **asdict(entry)}
