import calendar
import uuid
from datetime import date, timedelta

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q


class Intent(models.TextChoices):
    """The intent of a day: how much is left in the tank; the gym sets how much that is."""

    EASY = "easy", "easy"
    STEADY = "steady", "steady"
    HARD = "hard", "hard"
    TEST = "test", "test"


class Week(models.Model):
    """A week of sessions as the coach writes it: always the draft. What people see is its live publication."""

    starts_on = models.DateField(unique=True, help_text="A Monday (ISO 8601).")
    note = models.TextField(max_length=4000, blank=True, help_text="A line for everyone, on board and phone.")
    updated_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["-starts_on"]
        constraints = [models.CheckConstraint(condition=Q(starts_on__iso_week_day=1), name="week_starts_on_a_monday")]

    def __str__(self) -> str:
        year, number, _ = self.starts_on.isocalendar()
        return f"{year}-W{number:02d}"

    @property
    def ends_on(self) -> date:
        return self.starts_on + timedelta(days=6)


class PlannedSessionQuerySet(models.QuerySet):
    def standing(self) -> "PlannedSessionQuerySet":
        """Sessions that were not taken off their week."""
        return self.filter(removed_at__isnull=True)


class PlannedSession(models.Model):
    """A circuit on a day of a week, at one or more class times. One that was taken off is kept, and can come back."""

    WEEKDAYS = list(enumerate(calendar.day_name))  # from Monday, 0

    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    week = models.ForeignKey(Week, models.CASCADE, related_name="sessions")
    weekday = models.PositiveSmallIntegerField("day", choices=WEEKDAYS)
    circuit = models.ForeignKey("training.Circuit", models.PROTECT, related_name="planned")
    intent = models.CharField(max_length=6, choices=Intent, default=Intent.HARD)
    note = models.CharField(max_length=200, blank=True, help_text="Warm-up or a line for that day.")
    wbgt_c = models.FloatField(
        "expected wet-bulb globe temperature [°C]",
        null=True,
        blank=True,
        validators=[MinValueValidator(-20), MaxValueValidator(50)],
        help_text="Above the gym's limits the intent drops and the board says so. Empty: no heat expected.",
    )

    build = models.ForeignKey("training.Build", models.SET_NULL, null=True, blank=True, related_name="sessions")
    build_step = models.PositiveSmallIntegerField(null=True, blank=True, help_text="Its place in the build, from 0.")
    rotations = models.PositiveSmallIntegerField(
        "rounds on that day", null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(40)]
    )
    dose_percent = models.PositiveSmallIntegerField(
        "dose on that day [%]", null=True, blank=True, validators=[MinValueValidator(25), MaxValueValidator(200)]
    )
    interval_s = models.PositiveSmallIntegerField(
        "interval on that day [s]", null=True, blank=True, validators=[MinValueValidator(20), MaxValueValidator(900)]
    )
    version = models.PositiveIntegerField(default=1, help_text="Grows with every change of it.")
    removed_at = models.DateTimeField(null=True, blank=True, help_text="Taken off its week; empty while it stands.")

    objects = PlannedSessionQuerySet.as_manager()

    class Meta:
        ordering = ["weekday", "id"]
        constraints = [models.CheckConstraint(condition=Q(weekday__range=(0, 6)), name="session_is_on_a_weekday")]

    def __str__(self) -> str:
        return f"{self.circuit}, {self.date:%a %d %b}"

    @property
    def date(self) -> date:
        return self.week.starts_on + timedelta(days=self.weekday)


class ClassHour(models.Model):
    """A class time of a planned session, in the gym's own time."""

    session = models.ForeignKey(PlannedSession, models.CASCADE, related_name="hours")
    starts_at = models.TimeField()

    class Meta:
        ordering = ["starts_at"]
        constraints = [models.UniqueConstraint(fields=["session", "starts_at"], name="class_hour_is_unique")]

    def __str__(self) -> str:
        return f"{self.session} at {self.starts_at:%H:%M}"
