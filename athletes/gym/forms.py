from zoneinfo import available_timezones

from django import forms

from athletes.fields import ClassTimesField, PercentField, PlainNumbers, lines
from athletes.models import Gym

LEFT_IN_THE_TANK = ("headroom_test", "headroom_hard", "headroom_steady", "headroom_easy")
HEAT = ("heat_first_c", "heat_second_c", "heat_stop_c")


class GymForm(PlainNumbers, forms.ModelForm):
    time_zone = forms.ChoiceField(help_text="Class times and days are shown in it.")
    class_times = ClassTimesField(
        label="usual class times", required=False, help_text="Like 06:00, 18:30. Offered when a session is planned."
    )
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

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        zones = sorted(available_timezones() | {self.instance.time_zone})
        self.fields["time_zone"].choices = [(zone, zone.replace("_", " ")) for zone in zones]
        self.initial["class_times"] = ", ".join(self.instance.class_times)

    def clean_class_times(self) -> list[str]:
        return [f"{hour:%H:%M}" for hour in self.cleaned_data["class_times"]]

    def about(self) -> list:
        return [self[name] for name in ("name", "time_zone", "altitude_m", "class_times", "class_minutes")]

    def left_in_the_tank(self) -> list:
        return [self[name] for name in LEFT_IN_THE_TANK]

    def heat(self) -> list:
        return [self[name] for name in HEAT]
