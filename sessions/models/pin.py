import uuid

from django.db import models
from django.db.models import Q


class PinQuerySet(models.QuerySet):
    def standing(self) -> "PinQuerySet":
        """Targets set by hand that were not taken off again."""
        return self.filter(taken_off_at__isnull=True)


class Pin(models.Model):
    """A target that a coach set by hand for one athlete; it stands at every re-computation until it is taken off.

    It belongs to a planned session by its key and to the movement it was set for: when the station no longer offers
    that movement, the pin waits and is shown as not fitting. Rows are kept, with who and why.
    """

    # Made by the client, so that sending the same pin twice keeps one.
    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    session_key = models.UUIDField()
    athlete = models.ForeignKey("athletes.Athlete", models.CASCADE, related_name="pins")
    station = models.PositiveSmallIntegerField(help_text="Position in the circuit, from 1.")
    movement = models.ForeignKey(
        "athletes.Movement", models.CASCADE, null=True, blank=True, related_name="+", help_text="Empty: rest."
    )
    dose = models.FloatField(default=0)
    load_kg = models.FloatField("load [kg]", null=True, blank=True)
    reason = models.CharField(max_length=200)
    made_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    taken_off_at = models.DateTimeField(null=True, blank=True)
    taken_off_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, blank=True, related_name="+")
    # What stood there by hand before: taken off by this one, and back when this one is undone.
    replaces = models.ForeignKey("self", models.SET_NULL, null=True, blank=True, related_name="+", editable=False)

    objects = PinQuerySet.as_manager()

    class Meta:
        ordering = ["session_key", "athlete_id", "station", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["session_key", "athlete", "station"],
                condition=Q(taken_off_at__isnull=True),
                name="one_standing_pin_per_target",
            ),
            models.CheckConstraint(
                condition=Q(movement__isnull=True, dose=0) | Q(movement__isnull=False, dose__gt=0),
                name="pin_has_a_dose_or_is_rest",
            ),
            models.CheckConstraint(condition=~Q(reason=""), name="pin_has_a_reason"),
        ]

    def __str__(self) -> str:
        return f"{self.athlete_id} at station {self.station}: {self.dose:g}"
