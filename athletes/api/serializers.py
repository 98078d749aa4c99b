from copy import copy

from rest_framework import serializers

from athletes.api.problems import ProblemSerializer
from athletes.api.strict import Strict
from athletes.estimates.read import EstimateLine
from athletes.models import Athlete, Benchmark, Effort, MachineType, Movement, Rack
from athletes.movements.forms import CUES


def refuse_by_the_models_rules(serializer: serializers.ModelSerializer, values: dict) -> dict:
    """The values again, once the row as it would be passes the model's own rules; the row in hand is left alone."""
    row = copy(serializer.instance) if serializer.instance else serializer.Meta.model()
    for name, value in values.items():
        setattr(row, name, value)
    row.clean()
    return values


class AthleteSerializer(Strict, serializers.ModelSerializer):
    class Meta:
        model = Athlete
        fields = ["id", "key", "name", "board_name", "born", "sex", "body_mass_kg", "load_unit", "joined_on", "active"]
        fields += ["returned_on", "leave_from", "leave_until"]
        fields += ["note", "guardian", "guardian_contact", "guardian_agreed_on"]
        read_only_fields = ["key"]


class MovementSerializer(Strict, serializers.ModelSerializer):
    dose_kinds = serializers.ListField(child=serializers.CharField(), read_only=True)
    cues = serializers.DictField(child=serializers.CharField(), read_only=True)
    machine_type = serializers.SlugRelatedField(
        "name", queryset=MachineType.objects.all(), required=False, allow_null=True
    )
    rack = serializers.SlugRelatedField("name", queryset=Rack.objects.all(), required=False, allow_null=True)
    easier_form = serializers.SlugRelatedField("slug", queryset=Movement.objects.all(), required=False, allow_null=True)

    class Meta:
        model = Movement
        fields = ["id", "slug", "name", "other_names", "kind", "engine", "machine_type", "rack", "dose_kinds"]
        fields += ["involvement", "setup_s", "seconds_per_repetition", "typical_best", "typical_spread"]
        fields += ["paced", "needs_skill", "high_eccentric", "introductory", "easier_form", "cues", *CUES, "archived"]
        extra_kwargs = {"introductory": {"max_value": 10_000}}

    def validate_easier_form(self, easier: Movement | None) -> Movement | None:
        """One that was archived since may stay, so that a movement can be sent back as it was read."""
        if easier and easier.archived and easier.pk != getattr(self.instance, "easier_form_id", None):
            raise serializers.ValidationError("This movement is archived. Choose another.")
        return easier

    def validate(self, values: dict) -> dict:
        return refuse_by_the_models_rules(self, values)


class CueSerializer(MovementSerializer):
    """A movement for staff, who change the words on the card and nothing else."""

    class Meta(MovementSerializer.Meta):
        read_only_fields = [name for name in MovementSerializer.Meta.fields if name not in CUES]


class BenchmarkSerializer(Strict, serializers.ModelSerializer):
    movement = serializers.SlugRelatedField("slug", queryset=Movement.objects.all())
    value_unit = serializers.CharField(read_only=True)
    fixed_unit = serializers.CharField(read_only=True)

    class Meta:
        model = Benchmark
        fields = ["id", "slug", "name", "movement", "measure", "fixed", "fixed_unit", "value_unit"]
        fields += ["instructions", "archived"]

    def validate(self, values: dict) -> dict:
        return refuse_by_the_models_rules(self, values)


class EffortSerializer(Strict, serializers.ModelSerializer):
    """An effort as it is kept. Writing takes `typed`, in the words of the entry pages, and answers with the value; a
    load without a unit is in the athlete's own (`load_unit`)."""

    typed = serializers.CharField(max_length=60)
    key = serializers.UUIDField(required=False, help_text="Made by the client: the same key again keeps one effort.")
    confirmed = serializers.BooleanField(
        default=False, write_only=True, help_text="Keep a result that was questioned (answer 409)."
    )

    class Meta:
        model = Effort
        fields = [
            "id",
            "key",
            "athlete",
            "benchmark",
            "typed",
            "performed_on",
            "confirmed",
            "value",
            "fixed",
            "repetitions",
            "entered_at",
            "question",
            "voided_at",
            "void_reason",
        ]
        read_only_fields = ["value", "fixed", "repetitions", "entered_at", "question", "voided_at", "void_reason"]


class QuestionSerializer(ProblemSerializer):
    """Why a result was not kept yet: send it again with `confirmed` when it is right."""

    question = serializers.CharField()


class VoidSerializer(Strict, serializers.Serializer):
    reason = serializers.CharField(max_length=200)


class EstimatedSerializer(serializers.Serializer):
    of = serializers.CharField()
    value = serializers.FloatField()
    unit = serializers.CharField()


class EstimateSerializer(serializers.Serializer):
    """What an athlete can do on an engine or in a movement, and how sure that is."""

    engine = serializers.CharField(help_text="Empty: of a movement.")
    movement = serializers.IntegerField(allow_null=True)
    said = EstimatedSerializer(many=True)
    firmness = serializers.CharField(help_text="firm, fair or rough.")
    as_of = serializers.DateField()
    efforts = serializers.IntegerField(help_text="How many it rests on.")
    logs = serializers.CharField(help_text="How far logs have moved it since the last test; empty where they have not.")
    sd = serializers.FloatField(allow_null=True, help_text="Of its log; null for who is no coach.")
    figures = serializers.DictField(
        child=serializers.FloatField(),
        allow_null=True,
        help_text="The model's own: CP [W; runs m/s], W′ [J; runs m] and k [s] of an engine. Null for who is no coach.",
    )

    def to_representation(self, line: EstimateLine) -> dict:
        shown = super().to_representation(line)
        return shown if self.context["figures"] else {**shown, "sd": None, "figures": None}
