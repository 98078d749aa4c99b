import uuid

from django.db import models
from django.db.models import Q


class EffortQuerySet(models.QuerySet):
    def standing(self) -> "EffortQuerySet":
        """Efforts that count: not voided."""
        return self.filter(voided_at__isnull=True)


class Effort(models.Model):
    """What an athlete did in a benchmark. Never edited or deleted: voided with a reason, and replaced.

    `value` is in the benchmark's unit (Benchmark.value_unit, SI and kcal); `fixed` is what was fixed that day, usually
    the benchmark's own. `key` is made by the client, so that sending the same effort twice keeps one.
    """

    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    athlete = models.ForeignKey("athletes.Athlete", models.CASCADE, related_name="efforts")
    benchmark = models.ForeignKey("athletes.Benchmark", models.PROTECT, related_name="efforts")
    value = models.FloatField()
    fixed = models.FloatField(null=True, blank=True)
    repetitions = models.PositiveSmallIntegerField(null=True, blank=True, help_text="Of a lift.")
    typed = models.CharField(max_length=60)
    performed_on = models.DateField()
    entered_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")
    entered_at = models.DateTimeField(auto_now_add=True)
    question = models.CharField(max_length=200, blank=True, help_text="Why it was questioned before it was kept.")
    replaces = models.OneToOneField("self", models.SET_NULL, null=True, blank=True, related_name="replaced_by")
    import_key = models.UUIDField(null=True, blank=True, db_index=True, help_text="Of the import that brought it in.")
    voided_at = models.DateTimeField(null=True, blank=True)
    voided_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, blank=True, related_name="+")
    void_reason = models.CharField(max_length=200, blank=True)

    objects = EffortQuerySet.as_manager()

    class Meta:
        ordering = ["-performed_on", "-id"]
        indexes = [models.Index(fields=["athlete", "benchmark", "performed_on"], name="effort_history")]
        constraints = [
            models.CheckConstraint(condition=Q(value__gte=0), name="effort_value_is_not_negative"),
            models.CheckConstraint(
                condition=Q(voided_at__isnull=True) | ~Q(void_reason=""), name="effort_is_voided_with_a_reason"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.athlete}, {self.benchmark}: {self.typed}"
