"""What a floor sheet sends when something is tapped; each tap has a key of its own, made by the page."""

from datetime import UTC, datetime

from rest_framework import serializers

from sessions.services.floor import EASIER, HARDER, SWAP, UNDO, Tap


class HereSerializer(serializers.Serializer):
    """Whom a tap is about, on the sheet of which class time."""

    hour = serializers.CharField(max_length=5, allow_blank=True)
    athlete = serializers.IntegerField(min_value=1)


class TapSerializer(HereSerializer):
    """{"hour", "athlete", "key", "station", "act", "basis": [rung, dose, load_kg], "pin"}"""

    key = serializers.UUIDField()
    station = serializers.IntegerField(min_value=1, max_value=99)
    act = serializers.ChoiceField(choices=[EASIER, HARDER, SWAP, UNDO])
    basis = serializers.ListField(child=serializers.FloatField(allow_null=True), min_length=3, max_length=3)
    pin = serializers.UUIDField(required=False, allow_null=True, default=None)

    def tap(self) -> Tap:
        said = self.validated_data
        plain = {name: said[name] for name in ("key", "station", "act", "pin")}
        return Tap(athlete_id=said["athlete"], basis=tuple(said["basis"]), **plain)


class AttendanceSerializer(HereSerializer):
    came = serializers.BooleanField()


class QuickLogSerializer(HereSerializer):
    """A log in one tap: everything as planned. `at_ms`: when it was tapped, in ms since 1970."""

    key = serializers.UUIDField()
    rpe = serializers.FloatField(min_value=0, max_value=10, allow_null=True)
    at_ms = serializers.IntegerField(min_value=0, max_value=2**43)

    def said(self, entries: list[dict]) -> dict:
        said = self.validated_data
        done_at = datetime.fromtimestamp(said["at_ms"] / 1000, UTC)
        plain = {"pain": False, "stopped": False, "note": ""}
        return {"key": said["key"], "rpe": said["rpe"], "done_at": done_at, "entries": entries, **plain}
