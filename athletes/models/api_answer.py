from django.db import models


class ApiAnswer(models.Model):
    """What a request with an Idempotency-Key was answered, for a day: sent again, it is answered alike."""

    caller = models.CharField(max_length=40)
    key = models.CharField(max_length=200)
    fingerprint = models.CharField(max_length=64, help_text="SHA-256 of path and content.")
    status = models.PositiveSmallIntegerField(default=0)
    body = models.JSONField(null=True, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["caller", "key"], name="one_answer_per_key")]

    def __str__(self) -> str:
        return f"{self.caller}: {self.key}"
