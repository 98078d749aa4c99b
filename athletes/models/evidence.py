from django.db import models
from django.db.models import Q


class Evidence(models.Model):
    """What one station of a logged session says of an engine or a movement; wide, and never a benchmark.

    Made by the app that keeps the logs, from which it can be made again; `source` is the key of the log.
    `value` is an even power in watts (m/s in runs) over `duration_s`, or the repetitions, seconds of a hold or
    one-repetition maximum in kg that the rounds point to.
    """

    athlete = models.ForeignKey("athletes.Athlete", models.CASCADE, related_name="evidence")
    source = models.UUIDField()
    station = models.PositiveSmallIntegerField()
    engine = models.CharField(max_length=4, blank=True, default="")
    movement = models.ForeignKey("athletes.Movement", models.CASCADE, null=True, blank=True, related_name="+")
    value = models.FloatField()
    duration_s = models.FloatField(null=True, blank=True)
    sd_log = models.FloatField()
    performed_on = models.DateField()
    method_version = models.CharField(max_length=20)

    class Meta:
        ordering = ["-performed_on", "-id"]
        verbose_name_plural = "evidence"
        indexes = [models.Index(fields=["athlete", "performed_on"], name="evidence_history")]
        constraints = [
            models.UniqueConstraint(fields=["source", "station"], name="one_evidence_per_logged_station"),
            models.CheckConstraint(condition=Q(value__gt=0, sd_log__gt=0), name="evidence_is_positive"),
            models.CheckConstraint(
                condition=(Q(movement__isnull=True, duration_s__gt=0) & ~Q(engine=""))
                | Q(movement__isnull=False, duration_s__isnull=True, engine=""),
                name="evidence_is_of_an_engine_or_a_movement",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.athlete_id}, {self.engine or self.movement_id}: {self.value:g}"
