from django.db import models
from django.db.models import Q


class Estimate(models.Model):
    """What an athlete can do on one engine or in one movement, as of a day, from the efforts and logs that stand.

    Engines and paced movements: `mean` is (log CP, log W', log k) and `covariance` 3 × 3. Other movements: one number
    each, the log of the most unbroken repetitions or seconds, or of the one-repetition maximum in kg. Logged sessions
    have moved it by `adjustment`, which is in the mean. Can be made again from efforts and evidence alone.
    """

    athlete = models.ForeignKey("athletes.Athlete", models.CASCADE, related_name="estimates")
    engine = models.CharField(max_length=4, blank=True, default="")
    movement = models.ForeignKey("athletes.Movement", models.CASCADE, null=True, blank=True, related_name="+")
    mean = models.JSONField()
    covariance = models.JSONField()
    adjustment = models.FloatField(default=0, help_text="Of the log of the capacity, by logs since the last test.")
    drift_sd = models.FloatField(
        default=0, help_text="Of a curve's log: what may have changed since in all of its efforts alike."
    )
    efforts = models.JSONField(default=list, help_text="Ids of the efforts it rests on, newest first.")
    as_of = models.DateField()
    method_version = models.CharField(max_length=20)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=(Q(movement__isnull=True) & ~Q(engine="")) | (Q(movement__isnull=False) & Q(engine="")),
                name="estimate_is_of_an_engine_or_a_movement",
            ),
            models.UniqueConstraint(
                fields=["athlete", "engine"], condition=~Q(engine=""), name="one_estimate_per_engine"
            ),
            models.UniqueConstraint(
                fields=["athlete", "movement"], condition=Q(engine=""), name="one_estimate_per_movement"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.athlete}: {self.engine or self.movement}"
