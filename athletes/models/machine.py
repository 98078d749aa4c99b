from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
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
