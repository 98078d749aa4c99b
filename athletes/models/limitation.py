import uuid

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q


class Limitation(models.Model):
    """What an athlete is not to do, or cannot do yet, until it is reviewed. Entered by staff, private, no diagnosis."""

    class Kind(models.TextChoices):
        SKILL = "skill", "has not learnt it yet"
        BODY = "body", "body part to spare"
        ILLNESS = "illness", "return from illness"
        PREGNANCY = "pregnancy", "pregnancy"
        OTHER = "other", "other"

    # Nobody goes all out while one of these holds, whatever else is out.
    NOT_ALL_OUT = (Kind.ILLNESS, Kind.PREGNANCY)

    # Made by the client, so that sending the same limitation twice keeps one.
    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    athlete = models.ForeignKey("athletes.Athlete", models.CASCADE, related_name="limitations")
    kind = models.CharField(max_length=10, choices=Kind)
    patterns = models.JSONField(default=list, blank=True, help_text="Movement patterns that are out.")
    movements = models.ManyToManyField("athletes.Movement", blank=True, help_text="Single movements that are out.")
    note = models.TextField(max_length=4000, blank=True, help_text="For staff only, as little as needed. No diagnosis.")
    starts_on = models.DateField()
    review_on = models.DateField("review on", null=True, blank=True, help_text="Until then, this day not included.")
    entered_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    updated_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["-starts_on", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(review_on__isnull=True) | Q(review_on__gte=models.F("starts_on")),
                name="limitation_review_follows_start",
            )
        ]

    def __str__(self) -> str:
        return f"{self.athlete}: {self.get_kind_display()}"

    def clean(self) -> None:
        if self.review_on and self.starts_on and self.review_on <= self.starts_on:
            words = "The review comes after the first day. Choose a later day or leave it empty."
            raise ValidationError({"review_on": words})
