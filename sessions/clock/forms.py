"""What the clock's page sends: presses in the order they were made, each with a key of its own.

    {"hour": "06:00", "presses": [{"key", "kind": "start", "at_ms", "value": 10},
                                  {"key", "kind": "jump", "at_ms", "value": 7, "run"}, …]}

A start's `value` is the seconds to get ready in, and its key becomes the run's; every other press names its `run`.
"""

from rest_framework import serializers

from sessions.clock.write import START
from sessions.models import RunChange


class PressSerializer(serializers.Serializer):
    key = serializers.UUIDField()
    kind = serializers.ChoiceField(choices=[START, *RunChange.Kind.values])
    at_ms = serializers.IntegerField(min_value=0, max_value=2**53)
    value = serializers.IntegerField(min_value=0, max_value=32_000, default=0)
    run = serializers.UUIDField(required=False)

    def validate(self, press: dict) -> dict:
        if press["kind"] != START and "run" not in press:
            raise serializers.ValidationError("A press on a clock that runs names its run.")
        return press


class PressesSerializer(serializers.Serializer):
    hour = serializers.CharField(max_length=5, allow_blank=True)
    presses = PressSerializer(many=True, max_length=200)
