from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from athletes.models.texts import validate_one_line


def validate_time_zone(name: str) -> None:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise ValidationError(f"“{name}” is no time zone. Write it like Europe/Lisbon.") from None


def share(default: float, least: float, most: float, **options) -> models.FloatField:
    """A field for a fraction of one."""
    return models.FloatField(default=default, validators=[MinValueValidator(least), MaxValueValidator(most)], **options)


def wbgt(default: float, help_text: str) -> models.FloatField:
    """A field for a limit of the wet-bulb globe temperature [°C]."""
    limits = [MinValueValidator(15), MaxValueValidator(40)]
    return models.FloatField(default=default, validators=limits, help_text=help_text)


class Gym(models.Model):
    """The gym this installation serves: exactly one row, with id 1."""

    name = models.CharField(max_length=80, default="Our gym", validators=[validate_one_line])
    time_zone = models.CharField(max_length=60, default="UTC", validators=[validate_time_zone])
    altitude_m = models.FloatField(
        "altitude [m]", default=0, validators=[MinValueValidator(-430), MaxValueValidator(5500)]
    )
    class_times = models.JSONField(
        default=list, blank=True, help_text="The usual class times, offered when a session is planned."
    )
    class_minutes = models.PositiveSmallIntegerField(
        "minutes of a class",
        default=60,
        validators=[MinValueValidator(10), MaxValueValidator(240)],
        help_text="What the parts of a class are held against.",
    )
    # Left in the tank in the last round, as a share of what could just be held, by the intent of the day.
    headroom_test = share(0.0, 0, 0.6)
    headroom_hard = share(0.10, 0, 0.6)
    headroom_steady = share(0.25, 0, 0.6)
    headroom_easy = share(0.45, 0, 0.6)
    sure = models.FloatField(
        "how sure a dose is",
        default=0.90,
        choices=[(0.80, "4 in 5 hold it: bolder"), (0.90, "9 in 10 hold it"), (0.95, "19 in 20 hold it: more careful")],
        help_text="How many of those who are asked for a number should be able to hold it with nothing left.",
    )
    heat_first_c = wbgt(27.8, "From here on a day's intent drops one level.")
    heat_second_c = wbgt(30.0, "From here on it drops two levels.")
    heat_stop_c = wbgt(32.2, "From here on nobody trains.")
    local_rules = models.TextField(
        max_length=4000,
        blank=True,
        help_text="House rules and whom to call, shown under the cautions on phones and paper.",
    )

    second_step = models.BooleanField(
        "owners and coaches need a second step",
        default=False,
        help_text="Who has none yet is led to set one up after the password, and reaches nothing else until then.",
    )
    first_hour_over = models.BooleanField(
        default=False, editable=False, help_text="The guided way at the beginning is done or left out."
    )
    priors = models.JSONField(
        default=dict, blank=True, editable=False, help_text="What first guesses learnt from the gym's own athletes."
    )

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="gym_is_one_row")]

    def __str__(self) -> str:
        return self.name

    @property
    def headrooms(self) -> dict[str, float]:
        """Left in the tank by the intent of the day, from the hardest to the easiest."""
        return {name: getattr(self, f"headroom_{name}") for name in ("test", "hard", "steady", "easy")}

    def clean(self) -> None:
        levels = list(self.headrooms.values())
        if levels != sorted(levels):
            raise ValidationError({"headroom_easy": "An easier day leaves more in the tank: let the four rise."})
        if not self.heat_first_c < self.heat_second_c < self.heat_stop_c:
            raise ValidationError({"heat_first_c": "The three limits of heat rise: each above the one before."})

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)
