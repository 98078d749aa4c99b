import uuid

from django.db import models
from django.db.models import Q


class Override(models.Model):
    """A coach sets a computed caution aside for one athlete, for a time and with a reason that is kept."""

    class Caution(models.TextChoices):
        EXPOSURE = "exposure", "amount of a new movement"
        RETURN = "return", "return after a break"

    # Made by the client, so that sending the same override twice keeps one.
    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    athlete = models.ForeignKey("athletes.Athlete", models.CASCADE, related_name="overrides")
    caution = models.CharField(max_length=10, choices=Caution)
    movement = models.ForeignKey(
        "athletes.Movement",
        models.CASCADE,
        null=True,
        blank=True,
        related_name="+",
        help_text="Of the amount of one movement; empty: of all.",
    )
    starts_on = models.DateField()
    ends_on = models.DateField("until", help_text="That day included.")
    reason = models.CharField(max_length=200)
    made_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    updated_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["-starts_on", "-id"]
        constraints = [
            models.CheckConstraint(condition=Q(ends_on__gte=models.F("starts_on")), name="override_ends_after_start"),
            models.CheckConstraint(condition=~Q(reason=""), name="override_has_a_reason"),
        ]

    def __str__(self) -> str:
        return f"{self.athlete}: {self.get_caution_display()}"
