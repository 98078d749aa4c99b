from django.db import models
from django.db.models import Q


class Evidence(models.Model):
    """What one station of a logged session says of an engine or a movement.

    Made by the app that keeps the logs, from which it can be made again; `source` is the key of the log. Either a
    `step` of the log of the capacity, 0 for a session that changed nothing; or, where the session measured it, a
    `value` like that of a benchmark with the SD of its logarithm: an even power in watts (m/s in runs, repetitions a
    minute of paced movements) over `duration_s`, or the most repetitions, seconds of a hold or one-repetition maximum
    in kg.
    """

    athlete = models.ForeignKey("athletes.Athlete", models.CASCADE, related_name="evidence")
    source = models.UUIDField()
    station = models.PositiveSmallIntegerField()
    engine = models.CharField(max_length=4, blank=True, default="")
    movement = models.ForeignKey("athletes.Movement", models.CASCADE, null=True, blank=True, related_name="+")
    step = models.FloatField(default=0)
    value = models.FloatField(null=True, blank=True)
    duration_s = models.FloatField(null=True, blank=True)
    sd_log = models.FloatField(null=True, blank=True)
    performed_on = models.DateField()
    method_version = models.CharField(max_length=20)

    class Meta:
        ordering = ["-performed_on", "-id"]
        verbose_name_plural = "evidence"
        indexes = [models.Index(fields=["athlete", "performed_on"], name="evidence_history")]
        constraints = [
            models.UniqueConstraint(fields=["source", "station"], name="one_evidence_per_logged_station"),
            models.CheckConstraint(
                condition=Q(value__isnull=True, sd_log__isnull=True, duration_s__isnull=True)
                | Q(step=0, value__gt=0, sd_log__gt=0),
                name="evidence_steps_or_measures",
            ),
            models.CheckConstraint(
                condition=(Q(movement__isnull=True) & ~Q(engine="")) | Q(movement__isnull=False, engine=""),
                name="evidence_is_of_one_engine_or_movement",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.athlete_id}, {self.engine or self.movement_id}: {self.value or self.step:g}"
