import uuid

from django.db import models
from django.db.models import Q


class ClassRun(models.Model):
    """A class held against the clock: when it began, and every change since (RunChange). Nothing else moves it.

    Its clock is worked out from these rows wherever it is shown (sessions.clock.moment), so a restart of the server
    changes nothing. `key` is made by the client: starting twice starts one. A run stands until the same class is
    started again.
    """

    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    session = models.ForeignKey(
        "training.PublishedSession", models.CASCADE, related_name="runs", help_text="The revision that was in view."
    )
    session_key = models.UUIDField()
    date = models.DateField()
    hour = models.CharField(max_length=5, blank=True, help_text="Class time, 06:00; empty where there is none.")
    shape = models.JSONField(help_text="What the clock needs of the circuit, see sessions.clock.moment.Shape.")
    starts_ms = models.BigIntegerField(help_text="When the first interval begins: milliseconds since 1970, UTC.")
    over_ms = models.BigIntegerField(help_text="When it is over if nothing more is pressed.")
    version = models.PositiveIntegerField(default=0, help_text="Number of changes.")
    standing = models.BooleanField(default=True)
    wave = models.PositiveSmallIntegerField(default=1, help_text="Who does not fit begins after the others.")
    started_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")
    received_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-starts_ms"]
        indexes = [models.Index(fields=["over_ms"], condition=Q(standing=True), name="run_is_on")]
        constraints = [
            models.UniqueConstraint(
                fields=["session_key", "date", "hour"], condition=Q(standing=True), name="one_standing_run_a_class"
            )
        ]

    def __str__(self) -> str:
        return f"{self.date} {self.hour}".rstrip()


class RunChange(models.Model):
    """One press on the clock's page. `key` is made by the client, so that sending it twice changes nothing.

    `at_ms` is when it was pressed, by the server's time as the page knew it; a press that waited for a connection
    counts from then, not from when it arrived.
    """

    class Kind(models.TextChoices):
        PAUSE = "pause", "pause"
        RESUME = "resume", "resume"
        JUMP = "jump", "go to an interval"
        ROUNDS = "rounds", "number of rounds"
        PART = "part", "go to a part"
        LENGTH = "length", "seconds of a part"
        END = "end", "end"

    run = models.ForeignKey(ClassRun, models.CASCADE, related_name="changes")
    key = models.UUIDField(unique=True, editable=False)
    number = models.PositiveIntegerField()
    kind = models.CharField(max_length=6, choices=Kind)
    at_ms = models.BigIntegerField()
    value = models.PositiveSmallIntegerField(default=0)
    made_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")
    received_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["number"]
        constraints = [models.UniqueConstraint(fields=["run", "number"], name="run_change_number_is_unique")]

    def __str__(self) -> str:
        return f"{self.run_id}, {self.number}: {self.kind}"
