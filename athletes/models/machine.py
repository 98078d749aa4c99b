import uuid

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from athletes.models.movement import Engine


class MachineType(models.Model):
    """A kind of machine or place in the room of which there are only so many."""

    name = models.CharField(max_length=60, unique=True)
    engine = models.CharField(max_length=4, choices=Engine, blank=True, default="")
    kcal_base = models.FloatField(
        "calories shown at zero watts [kcal/h]",
        default=300.0,
        validators=[MinValueValidator(0)],
        help_text="A display convention of the monitor.",
    )
    kcal_slope = models.FloatField(
        "calories shown per watt [kcal/h per W]", default=3.4416, validators=[MinValueValidator(0.1)]
    )
    lever_most = models.FloatField(
        "levers run from 1 to",
        null=True,
        blank=True,
        validators=[MinValueValidator(2), MaxValueValidator(20)],
        help_text="Of an air-braked machine. Empty: it has no lever.",
    )
    setting_advice = models.CharField(
        max_length=160, blank=True, help_text="How to set it, shown with every target on this machine."
    )

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kcal_base__gte=0, kcal_slope__gt=0), name="machine_calories_rise_with_power"
            )
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        if self.pk and self.engine and self.movements.exclude(engine__in=["", self.engine]).exists():
            raise ValidationError({"engine": "Movements on this machine have another engine. Add a new type instead."})


class Machine(models.Model):
    """One machine on the floor, known by its type and number."""

    type = models.ForeignKey(MachineType, models.PROTECT, related_name="machines")
    number = models.PositiveSmallIntegerField()
    active = models.BooleanField(default=True, help_text="On the floor and working.")

    class Meta:
        ordering = ["type__name", "number"]
        constraints = [models.UniqueConstraint(fields=["type", "number"], name="machine_number_is_unique")]

    def __str__(self) -> str:
        return f"{self.type} {self.number}"


class LeverReading(models.Model):
    """The drag factor that a machine's monitor showed at a lever, and the density of the air it was taken in."""

    # Made by the client, so that sending the same reading twice keeps one.
    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    machine = models.ForeignKey(Machine, models.CASCADE, related_name="readings")
    lever = models.FloatField(validators=[MinValueValidator(0), MaxValueValidator(20)])
    drag = models.FloatField("drag factor", validators=[MinValueValidator(40), MaxValueValidator(300)])
    density = models.FloatField("air density [kg/m³]")
    taken_on = models.DateField()
    entered_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")

    class Meta:
        ordering = ["lever", "-taken_on", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(lever__range=(0, 20), drag__range=(40, 300), density__range=(0.5, 1.6)),
                name="lever_reading_is_plausible",
            )
        ]

    def __str__(self) -> str:
        return f"{self.machine}, lever {self.lever:g}: {self.drag:g}"
