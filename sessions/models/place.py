import time

from django.db import models


def now_s() -> int:
    return int(time.time())


class ClassVersion(models.Model):
    """The version of a session's classes on a day: it moves with whatever wall, phones and floor sheet show of them.

    It begins at the second in which it is first moved, so that no two add up to what another one was.
    """

    session_key = models.UUIDField()
    date = models.DateField()
    number = models.BigIntegerField(default=now_s)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["session_key", "date"], name="one_version_a_class")]
        indexes = [models.Index(fields=["date"], name="class_version_of_a_day")]

    def __str__(self) -> str:
        return f"{self.session_key} {self.date}: {self.number}"


class Start(models.Model):
    """Where an athlete begins in a class: kept from the moment they are marked as here, or the clock starts.

    A part of a class with a circuit of its own has starts of its own, by its `session_key`. Who is in a later `wave`
    begins when the earlier one is done.
    """

    athlete = models.ForeignKey("athletes.Athlete", models.CASCADE, related_name="+")
    session_key = models.UUIDField()
    date = models.DateField()
    hour = models.CharField(max_length=5, blank=True)
    group = models.PositiveSmallIntegerField()
    pair = models.PositiveSmallIntegerField(default=0)
    turn = models.PositiveSmallIntegerField(default=0)
    wave = models.PositiveSmallIntegerField(default=1)

    class Meta:
        ordering = ["wave", "group", "pair", "turn"]
        constraints = [
            models.UniqueConstraint(fields=["athlete", "session_key", "date", "hour"], name="one_start_a_class"),
            models.CheckConstraint(condition=models.Q(turn__lte=1, wave__range=(1, 9)), name="start_is_possible"),
        ]

    def __str__(self) -> str:
        return f"{self.athlete_id} at {self.group}"


class Coming(models.Model):
    """The class time of a session that an athlete has chosen."""

    athlete = models.ForeignKey("athletes.Athlete", models.CASCADE, related_name="+")
    session_key = models.UUIDField()
    date = models.DateField()
    hour = models.CharField(max_length=5)
    chosen_at = models.DateTimeField(auto_now=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["athlete", "session_key", "date"], name="one_class_chosen")]

    def __str__(self) -> str:
        return f"{self.athlete_id}: {self.date} {self.hour}"
