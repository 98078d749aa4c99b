import uuid

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q


class TestDay(models.Model):
    """A day on which benchmarks are done together: who is tested on what, and in which heats.

    Results are efforts of that day, whether they were planned or not; a test day only says what is expected.
    """

    # Made by the client, so that sending the same plan twice keeps one.
    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    date = models.DateField("day")
    starts_at = models.TimeField("first heat at")
    rest_s = models.PositiveSmallIntegerField(
        "rest between two tests of an athlete [s]",
        default=900,
        validators=[MinValueValidator(0), MaxValueValidator(7200)],
        help_text="Every test is done all out: a quarter of an hour is little (common practice).",
    )
    change_over_s = models.PositiveSmallIntegerField(
        "change-over between heats [s]", default=120, validators=[MinValueValidator(0), MaxValueValidator(1800)]
    )
    made_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-date", "-id"]

    def __str__(self) -> str:
        return f"Test day, {self.date:%Y-%m-%d}"


class TestSlot(models.Model):
    """One test of one athlete on a test day. Heat 0: added later, whenever there is room.

    `outcome` is how it ended without a number. A result is an effort, and takes its place.
    """

    class Outcome(models.TextChoices):
        NONE = "", ""
        STOPPED = "stopped", "stopped"
        COULD_NOT = "could_not", "could not do it"

    test_day = models.ForeignKey(TestDay, models.CASCADE, related_name="slots")
    benchmark = models.ForeignKey("athletes.Benchmark", models.PROTECT, related_name="+")
    athlete = models.ForeignKey("athletes.Athlete", models.CASCADE, related_name="test_slots")
    machine = models.ForeignKey("athletes.Machine", models.SET_NULL, null=True, blank=True, related_name="+")
    heat = models.PositiveSmallIntegerField(default=0)
    starts_at = models.DateTimeField(null=True, blank=True)
    expected_s = models.FloatField("expected to take [s]", null=True, blank=True)
    outcome = models.CharField(max_length=9, choices=Outcome, default=Outcome.NONE, blank=True)
    outcome_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, blank=True, related_name="+")
    outcome_at = models.DateTimeField(null=True, blank=True)
    insisted = models.CharField(
        max_length=200, blank=True, help_text="Why a coach has them tested although a caution holds."
    )

    class Meta:
        ordering = ["heat", "id"]
        constraints = [
            models.UniqueConstraint(fields=["test_day", "benchmark", "athlete"], name="one_slot_per_test"),
            models.UniqueConstraint(
                fields=["test_day", "heat", "machine"],
                condition=Q(heat__gt=0, machine__isnull=False),
                name="one_athlete_on_a_machine",
            ),
            models.CheckConstraint(
                condition=Q(heat=0, starts_at__isnull=True) | Q(heat__gt=0, starts_at__isnull=False),
                name="slot_of_a_heat_has_its_time",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.test_day_id}, heat {self.heat}: {self.athlete_id} in {self.benchmark_id}"


class OpenCells(models.Model):
    """How many results of a test day wait for a second look on one device; they are kept nowhere else yet."""

    test_day = models.ForeignKey(TestDay, models.CASCADE, related_name="open_cells")
    device = models.UUIDField(help_text="Made by the device.")
    count = models.PositiveSmallIntegerField(default=0)
    by = models.ForeignKey("athletes.Account", models.CASCADE, related_name="+")
    seen_at = models.DateTimeField(auto_now=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["test_day", "device"], name="one_count_of_a_device")]

    def __str__(self) -> str:
        return f"{self.test_day_id}: {self.count} on {self.device}"
