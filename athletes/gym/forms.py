from zoneinfo import available_timezones

from django import forms

from athletes.fields import ClassTimesField, PercentField, PlainNumbers, lines
from athletes.models import Gym

LEFT_IN_THE_TANK = ("headroom_test", "headroom_hard", "headroom_steady", "headroom_easy")
HEAT = ("heat_first_c", "heat_second_c", "heat_stop_c")


class AboutForm(PlainNumbers, forms.ModelForm):
    """What a gym is called, where it is and when it trains."""

    time_zone = forms.ChoiceField(help_text="Class times and days are shown in it.")
    class_times = ClassTimesField(
        label="usual class times", required=False, help_text="Like 06:00, 18:30. Offered when a session is planned."
    )

    class Meta:
        model = Gym
        fields = ["name", "time_zone", "class_times", "altitude_m"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        zones = sorted(available_timezones() | {self.instance.time_zone})
        self.fields["time_zone"].choices = [(zone, zone.replace("_", " ")) for zone in zones]
        self.initial["class_times"] = ", ".join(self.instance.class_times)

    def clean_class_times(self) -> list[str]:
        return [f"{hour:%H:%M}" for hour in self.cleaned_data["class_times"]]


class BeginningForm(AboutForm):
    """The same in an empty gym: the time zone is guessed by the browser, and the first week needs its class times."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["class_times"].required = True
        self.fields["class_times"].help_text = "Of a usual day, like 06:00, 18:30."
        self.fields["altitude_m"].required = False
        self.fields["altitude_m"].help_text = "Above the sea. Thin air makes a fan lighter. Empty: near the sea."
        self.fields["name"].widget.attrs["autofocus"] = True
        if not self.instance.class_times:  # nobody has been here yet
            if self.instance.name == Gym._meta.get_field("name").default:
                self.initial["name"] = ""
            self.fields["time_zone"].widget.attrs["data-guess"] = "true"

    def clean_altitude_m(self) -> float:
        return self.cleaned_data["altitude_m"] or 0.0


class GymForm(AboutForm):
    headroom_test = PercentField(label="test [%]", least=0, most=60)
    headroom_hard = PercentField(label="hard day [%]", least=0, most=60)
    headroom_steady = PercentField(label="steady day [%]", least=0, most=60)
    headroom_easy = PercentField(label="easy day [%]", least=0, most=60)

    class Meta:
        model = Gym
        fields = [
            "name", "time_zone", "altitude_m", "class_times", "class_minutes", *LEFT_IN_THE_TANK, "sure", *HEAT,
            "local_rules",
        ]  # fmt: skip
        widgets = {"local_rules": lines(4)}
        labels = dict(zip(HEAT, ("first limit [°C]", "second limit [°C]", "stop [°C]"), strict=True))

    def about(self) -> list:
        return [self[name] for name in ("name", "time_zone", "altitude_m", "class_times", "class_minutes")]

    def left_in_the_tank(self) -> list:
        return [self[name] for name in LEFT_IN_THE_TANK]

    def heat(self) -> list:
        return [self[name] for name in HEAT]
