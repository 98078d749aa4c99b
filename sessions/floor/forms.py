"""What a floor sheet sends when something is tapped; each tap has a key of its own, made by the page."""

import uuid
from datetime import UTC, datetime

from django import forms
from rest_framework import serializers

from athletes.models import Athlete
from athletes.people.forms import AthleteForm
from athletes.words import clock
from sessions.boards.phone import to_log
from sessions.circuits.definition import Definition
from sessions.floor.offers import WAVE
from sessions.floor.write import ALL_EASIER, BACK, EASIER, HARDER, REST, SWAP, UNDO, Tap
from sessions.logs.write import MOST_TIMES, most_rounds
from sessions.models import Log, Target
from sessions.phone.forms import RPE_WORDS, PhoneLogForm


class HereSerializer(serializers.Serializer):
    """Whom a tap is about, on the sheet of which class time."""

    hour = serializers.CharField(max_length=5, allow_blank=True)
    athlete = serializers.IntegerField(min_value=1)


class TapSerializer(HereSerializer):
    """{"hour", "athlete", "key", "station", "act", "basis": [rung, dose, load_kg], "pin"}"""

    key = serializers.UUIDField()
    station = serializers.IntegerField(min_value=1, max_value=99)
    act = serializers.ChoiceField(choices=[EASIER, HARDER, SWAP, REST, UNDO, BACK, ALL_EASIER])
    basis = serializers.ListField(child=serializers.FloatField(allow_null=True), min_length=3, max_length=3)
    pin = serializers.UUIDField(required=False, allow_null=True, default=None)

    def tap(self) -> Tap:
        content = self.validated_data
        plain = {name: content[name] for name in ("key", "station", "act", "pin")}
        return Tap(athlete_id=content["athlete"], basis=tuple(content["basis"]), **plain)


class AttendanceSerializer(HereSerializer):
    came = serializers.BooleanField()


class OfferSerializer(HereSerializer):
    """What to do for somebody who has no place: {"hour", "athlete", "key", "act": swap, rest or wave}."""

    key = serializers.UUIDField()
    act = serializers.ChoiceField(choices=[SWAP, REST, WAVE])


class StartSerializer(HereSerializer):
    """Where somebody begins: the station from 0."""

    key = serializers.UUIDField()
    group = serializers.IntegerField(min_value=0, max_value=98)


class ClassLogSerializer(serializers.Serializer):
    """The class in one tap: everyone who was here and has not logged, as planned; or `undo` of that."""

    hour = serializers.CharField(max_length=5, allow_blank=True)
    key = serializers.UUIDField()
    at_ms = serializers.IntegerField(min_value=0, max_value=2**43)
    undo = serializers.BooleanField(required=False, default=False)


class QuickLogSerializer(HereSerializer):
    """A log in one tap: everything as planned. `at_ms`: when it was tapped, in ms since 1970."""

    key = serializers.UUIDField()
    rpe = serializers.FloatField(min_value=0, max_value=10, allow_null=True)
    at_ms = serializers.IntegerField(min_value=0, max_value=2**43)

    def content(self, entries: list[dict]) -> dict:
        content = self.validated_data
        done_at = datetime.fromtimestamp(content["at_ms"] / 1000, UTC)
        plain = {"pain": False, "stopped": False, "note": ""}
        return {"key": content["key"], "rpe": content["rpe"], "done_at": done_at, "entries": entries, **plain}


class FloorLogForm(PhoneLogForm):
    """What staff log for one athlete, station by station; begins with the log that stands, or else as planned."""

    # Made with the page: sending the page twice keeps one log.
    key = forms.UUIDField(initial=uuid.uuid4, widget=forms.HiddenInput)

    def __init__(self, data, *, circuit: Definition, targets: list[Target], log: Log | None, rounds: int):
        most = most_rounds(circuit)
        stations = [
            {**asked, "most": MOST_TIMES * max(asked["written"], asked["dose"]), "most_rounds": most}
            for asked in to_log(circuit, targets)
        ]
        super().__init__(data, stations, circuit.format)
        words = [(str(rpe), f"{rpe} {word}".strip()) for rpe, word in RPE_WORDS.items()]
        self.fields["rpe"].choices = [("", "not said"), *words]
        self.fields["note"].widget = forms.Textarea(attrs={"rows": 2})
        self._begin_with(log, rounds)

    def whole(self) -> list:
        """Off the clock: what the whole came to."""
        return [self[name] for name in ("time", "repetitions") if name in self.fields]

    def lines(self) -> list[tuple]:
        """Each station that can be logged, with its fields by what they ask for."""
        return [(station, self._fields_of(station["station"])) for station in self.stations]

    def _fields_of(self, place: int) -> list[tuple]:
        kinds = ("rounds", "dose", "load", "last")
        return [(kind, self[f"{kind}-{place}"]) for kind in kinds if f"{kind}-{place}" in self.fields]

    def _begin_with(self, log: Log | None, rounds: int) -> None:
        done = {entry.station: entry for entry in log.entries.all()} if log else {}
        for station in self.stations:
            entry, place = done.get(station["station"]), station["station"]
            self._begin(f"rounds-{place}", entry.rounds if entry else min(rounds, station["rounds"]))
            self._begin(f"dose-{place}", entry.dose if entry else station["dose"])
            self._begin(f"load-{place}", entry.load_kg if entry and entry.load_kg else station["load_kg"])
            self._begin(f"last-{place}", entry.open_last if entry else None)
        if log:
            self.initial |= {name: getattr(log, name) for name in ("pain", "stopped", "note")}
            self._begin("rpe", log.rpe)
            self._begin("repetitions", log.repetitions)
            if "time" in self.fields and log.time_s:
                self.initial["time"] = clock(log.time_s, tenths=False)

    def _begin(self, name: str, value: float | None) -> None:
        """Whole numbers appear without a decimal point."""
        if name in self.fields and value is not None:
            self.initial[name] = int(value) if float(value).is_integer() else value


class WalkInForm(AthleteForm):
    """Somebody new in a class: the name and the name on the board."""

    class Meta(AthleteForm.Meta):
        fields = ["name", "board_name"]

    def clean_name(self) -> str:
        name = self.cleaned_data["name"]
        same = Athlete.objects.filter(name__iexact=name).exclude(pk=self.instance.pk).first()
        if same:
            instead = "add them from the list" if same.active else "let them take part again on their page"
            raise forms.ValidationError(
                f"There is somebody called {same} already: {instead}. Another person of that name needs an initial."
            )
        return name
