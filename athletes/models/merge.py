from django.db import models


class Merge(models.Model):
    """Two athletes who turned out to be one: what of the second went to the first, so that it can be undone."""

    keep = models.ForeignKey("athletes.Athlete", models.CASCADE, related_name="+")
    gone = models.ForeignKey("athletes.Athlete", models.CASCADE, related_name="+")
    moved = models.JSONField(default=dict, help_text="Ids of the rows that moved, by model and field.")
    filled = models.JSONField(default=dict, help_text="Facts that were filled in, by name: before and after.")
    was = models.JSONField(default=dict, help_text="Of the second: name on the board, and whether it took part.")
    by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["-made_at", "-id"]

    def __str__(self) -> str:
        return f"{self.gone_id} into {self.keep_id}"
