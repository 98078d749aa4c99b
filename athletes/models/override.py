import uuid

from django.db import models
from django.db.models import Q


class Override(models.Model):
    """A coach sets a computed caution aside for one athlete, for a time and with a reason that is kept."""

    class Caution(models.TextChoices):
        EXPOSURE = "exposure", "amount of a new movement"
        RETURN = "return", "first weeks, or back after a break"
        NO_TARGET = "no_target", "no targets without a coach"

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


class Accustomed(models.Model):
    """A coach's word on whether an athlete is used to much of a movement that makes sore, where no record says so."""

    athlete = models.ForeignKey("athletes.Athlete", models.CASCADE, related_name="+")
    movement = models.ForeignKey("athletes.Movement", models.CASCADE, related_name="+")
    accustomed = models.BooleanField()
    said_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")
    said_at = models.DateTimeField(auto_now=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["athlete", "movement"], name="one_word_on_being_accustomed"),
        ]

    def __str__(self) -> str:
        return f"{self.athlete_id} is {'' if self.accustomed else 'not '}used to {self.movement_id}"
