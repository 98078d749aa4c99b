from django.db import models


class AuditEntry(models.Model):
    """That somebody who is signed in saw or changed what is private. Rows are only ever added.

    The athlete stands as a number and not as a reference: an entry outlives the athlete, and names nobody then.
    Triggers refuse changes and, for a year, removals; see the migrations.
    """

    at = models.DateTimeField(auto_now_add=True)
    account = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+", db_constraint=False)
    by = models.CharField(max_length=80, help_text="The account's name at that moment.")
    page = models.CharField(max_length=60, help_text="Name of the page, see athletes.audit.pages.")
    changed = models.BooleanField(help_text="Whether something was sent, not only looked at.")
    athlete_id = models.BigIntegerField(null=True, blank=True, db_index=True)

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [models.Index(fields=["at"], name="audit_by_time")]

    def __str__(self) -> str:
        return f"{self.by}: {self.page}"

    def save(self, *args, **kwargs) -> None:
        if self.pk is not None:
            raise TypeError("An entry is never changed.")
        super().save(*args, **kwargs)

    def delete(self, *args, **kwargs):
        raise TypeError("An entry is never removed.")
