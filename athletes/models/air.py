import uuid

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q


class AirReading(models.Model):
    """The air in the room: what fans feel, and how much heat people stand."""

    # Made by the client, so that sending the same reading twice keeps one.
    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    taken_at = models.DateTimeField()
    pressure_hpa = models.FloatField(
        "air pressure in the room [hPa]",
        null=True,
        blank=True,
        validators=[MinValueValidator(500), MaxValueValidator(1100)],
        help_text="As measured here, not reduced to sea level. Empty: from the altitude.",
    )
    temperature_c = models.FloatField(
        "temperature [°C]", null=True, blank=True, validators=[MinValueValidator(-20), MaxValueValidator(50)]
    )
    humidity_percent = models.FloatField(
        "relative humidity [%]", null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(100)]
    )
    wbgt_c = models.FloatField(
        "wet-bulb globe temperature [°C]",
        null=True,
        blank=True,
        validators=[MinValueValidator(-20), MaxValueValidator(50)],
        help_text="From a WBGT meter; a thermometer is none. Empty: no heat caution.",
    )
    entered_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")

    class Meta:
        ordering = ["-taken_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(temperature_c__isnull=False) | Q(wbgt_c__isnull=False), name="air_reading_says_something"
            )
        ]

    def __str__(self) -> str:
        return f"{self.taken_at:%Y-%m-%d %H:%M}"
