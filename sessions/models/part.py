import uuid

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from sessions.classes.definition import KINDS, MAIN

MOST_MINUTES = 120


class PartTemplate(models.Model):
    """Parts of a class under a name, to be put into any session."""

    name = models.CharField(max_length=80, unique=True)
    created_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Part(models.Model):
    """A part of a planned session, or of a template: what is done in it and for how long.

    The one of kind "circuit" marks where the session's own circuit stands in the hour, and lasts as long as that. Any
    other may have a `circuit` of its own, which is published under the part's `key`, and lasts as long as that where
    no minutes are written.
    """

    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    session = models.ForeignKey("training.PlannedSession", models.CASCADE, null=True, blank=True, related_name="parts")
    template = models.ForeignKey(PartTemplate, models.CASCADE, null=True, blank=True, related_name="parts")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=9, choices=list(KINDS.items()))
    minutes = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(MOST_MINUTES)]
    )
    words = models.TextField(max_length=600, blank=True)
    circuit = models.ForeignKey("training.Circuit", models.PROTECT, null=True, blank=True, related_name="in_parts")

    class Meta:
        ordering = ["position", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(session__isnull=True, template__isnull=False)
                | Q(session__isnull=False, template__isnull=True),
                name="part_of_a_session_or_of_a_template",
            ),
            models.CheckConstraint(
                condition=Q(kind=MAIN, circuit__isnull=True, minutes__isnull=True)
                | (
                    ~Q(kind=MAIN)
                    & (
                        Q(minutes__isnull=False, minutes__range=(1, MOST_MINUTES))
                        | Q(circuit__isnull=False, minutes__isnull=True)
                    )
                ),
                name="part_lasts_as_long_as_it_says_or_as_its_circuit",
            ),
            models.UniqueConstraint(
                fields=["session"], condition=Q(kind=MAIN, session__isnull=False), name="one_main_circuit_a_session"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.minutes} min" if self.minutes else self.get_kind_display()
