import calendar
import uuid

from django.db import models
from django.db.models import Q

from sessions.models.week import Intent


class Grows(models.TextChoices):
    """What grows over a build."""

    NOTHING = "nothing", "nothing: the same every time"
    ROUNDS = "rounds", "minutes, in whole rounds"
    DOSE = "dose", "the dose"
    REST = "rest", "shorter rest"


class Build(models.Model):
    """A circuit that recurs on a weekday, plain or growing: its sessions stand in their weeks and know their step.

    `steps` are what is asked for, a number a session: rounds, per cent of the written dose, or seconds of an interval;
    `eased` are the places of the easier ones. `decisions` keep what a coach decided after a step.
    """

    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    circuit = models.ForeignKey("training.Circuit", models.PROTECT, related_name="builds")
    starts_on = models.DateField()
    every = models.PositiveSmallIntegerField("every", default=1, choices=[(1, "every week"), (2, "every other week")])
    hours = models.JSONField(default=list)
    intent = models.CharField(max_length=6, choices=Intent, default=Intent.HARD)
    grows = models.CharField(max_length=7, choices=Grows, default=Grows.ROUNDS)
    steps = models.JSONField(default=list)
    eased = models.JSONField(default=list)
    decisions = models.JSONField(default=dict)
    created_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-starts_on", "-id"]
        constraints = [models.CheckConstraint(condition=Q(every__in=(1, 2)), name="build_is_weekly_or_every_other")]

    def __str__(self) -> str:
        return f"{self.circuit}, {calendar.day_name[self.starts_on.weekday()]}s"
