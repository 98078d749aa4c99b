from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q


class LogQuerySet(models.QuerySet):
    def standing(self) -> "LogQuerySet":
        """Logs that count: of several of one session the one made last."""
        return self.filter(replaced=False)


class Log(models.Model):
    """What an athlete says of a session that is over. Never edited: a later log of the same session takes its place.

    `key` is made by the client, so that sending a log twice, or late, or out of order, keeps one. Which of several
    counts is decided by `done_at`, the client's own moment, and not by when they arrived.
    """

    class Source(models.TextChoices):
        PHONE = "phone", "phone"
        FLOOR = "floor", "floor sheet"

    key = models.UUIDField(unique=True, editable=False)
    athlete = models.ForeignKey("athletes.Athlete", models.CASCADE, related_name="logs")
    session = models.ForeignKey(
        "training.PublishedSession", models.CASCADE, related_name="logs", help_text="The revision that was in view."
    )
    session_key = models.UUIDField()
    date = models.DateField()
    rpe = models.FloatField(
        "RPE", null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(10)], help_text="CR-10."
    )
    pain = models.BooleanField(default=False)
    stopped = models.BooleanField("stopped early", default=False)
    note = models.CharField(max_length=300, blank=True)
    time_s = models.PositiveIntegerField(
        "time reached [s]", null=True, blank=True, help_text="Of what was for time; empty where the cap came first."
    )
    repetitions = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Of the round that was not finished, where as many as fit were done."
    )
    source = models.CharField(max_length=5, choices=Source)
    entered_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, blank=True, related_name="+")
    done_at = models.DateTimeField()
    received_at = models.DateTimeField(auto_now_add=True)
    replaced = models.BooleanField(default=False, help_text="A later log of the same session stands.")
    learnt_at = models.DateTimeField(null=True, blank=True, help_text="The estimates have heard of it.")
    seen_at = models.DateTimeField(null=True, blank=True, help_text="Staff have seen the flag.")
    seen_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, blank=True, related_name="+")

    objects = LogQuerySet.as_manager()

    class Meta:
        ordering = ["-date", "-id"]
        indexes = [models.Index(fields=["athlete", "date"], name="log_history")]
        constraints = [
            models.UniqueConstraint(
                fields=["athlete", "session_key", "date"], condition=Q(replaced=False), name="one_standing_log"
            ),
            models.CheckConstraint(condition=Q(rpe__isnull=True) | Q(rpe__range=(0, 10)), name="log_rpe_is_cr10"),
        ]

    def __str__(self) -> str:
        return f"{self.athlete_id}, {self.date}"


class LogEntry(models.Model):
    """One station of a log: how many rounds were made, and what was done in each of them."""

    log = models.ForeignKey(Log, models.CASCADE, related_name="entries")
    station = models.PositiveSmallIntegerField()
    movement = models.ForeignKey("athletes.Movement", models.SET_NULL, null=True, blank=True, related_name="+")
    rounds = models.PositiveSmallIntegerField()
    dose = models.FloatField(help_text="In a round, in the unit of the target.")
    load_kg = models.FloatField(null=True, blank=True)
    asked_rounds = models.PositiveSmallIntegerField()
    asked_dose = models.FloatField()
    open_last = models.FloatField(null=True, blank=True, help_text="What an open last round came to.")

    class Meta:
        ordering = ["station"]
        verbose_name_plural = "log entries"
        constraints = [
            models.UniqueConstraint(fields=["log", "station"], name="one_entry_per_logged_station"),
            models.CheckConstraint(condition=Q(dose__gte=0), name="logged_dose_is_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.log}, station {self.station}"


class Attendance(models.Model):
    """Who came to a class; enough to know that an athlete trained, with or without a log."""

    athlete = models.ForeignKey("athletes.Athlete", models.CASCADE, related_name="attendances")
    session_key = models.UUIDField()
    date = models.DateField()
    hour = models.CharField(max_length=5, blank=True, help_text="Class time, 06:00; empty where there is none.")
    marked_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")
    marked_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["date", "hour", "athlete_id"]
        indexes = [models.Index(fields=["athlete", "date"], name="attendance_history")]
        constraints = [
            models.UniqueConstraint(fields=["athlete", "session_key", "date"], name="one_attendance_a_session")
        ]

    def __str__(self) -> str:
        return f"{self.athlete_id}, {self.date} {self.hour}".rstrip()
