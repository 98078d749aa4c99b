import uuid

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone

from athletes.models.texts import validate_one_line


class HereManager(models.Manager):
    """Athletes but for those who turned out to be somebody who was here already."""

    def get_queryset(self) -> models.QuerySet:
        return super().get_queryset().filter(merged_into=None)


class Athlete(models.Model):
    """A member of the gym. Body mass is private to staff and the athlete, and never leaves those pages."""

    class Sex(models.TextChoices):
        NOT_SAID = "", "not said"
        FEMALE = "female", "female"
        MALE = "male", "male"

    class LoadUnit(models.TextChoices):
        KG = "kg", "kilograms"
        LB = "lb", "pounds"

    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    name = models.CharField(max_length=80, validators=[validate_one_line])
    board_name = models.CharField(
        "name on the board",
        max_length=24,
        validators=[validate_one_line],
        help_text="Short, as the room knows this athlete; shown on wall and paper.",
    )
    born = models.DateField("date of birth", null=True, blank=True)
    sex = models.CharField(
        max_length=6, choices=Sex, default=Sex.NOT_SAID, blank=True, help_text="Only centres a first guess; optional."
    )
    body_mass_kg = models.FloatField(
        "body mass [kg]", null=True, blank=True, validators=[MinValueValidator(25), MaxValueValidator(300)]
    )
    load_unit = models.CharField("loads shown in", max_length=2, choices=LoadUnit, default=LoadUnit.KG)
    joined_on = models.DateField(null=True, blank=True)
    returned_on = models.DateField(
        "back after a break since",
        null=True,
        blank=True,
        help_text="Starts four weeks of growing volume on that day; a break in the logs does so by itself.",
    )
    leave_from = models.DateField("away from", null=True, blank=True, help_text="No targets from that day on.")
    leave_until = models.DateField(
        "back on", null=True, blank=True, help_text="Takes part again by itself, with four weeks of growing volume."
    )
    active = models.BooleanField(default=True, help_text="Takes part: gets targets and stands on the board.")
    note = models.TextField(max_length=4000, blank=True, help_text="For staff only.")
    guardian = models.CharField(max_length=80, blank=True, help_text="Of a minor: who is responsible.")
    guardian_contact = models.CharField("how to reach the guardian", max_length=120, blank=True)
    guardian_agreed_on = models.DateField(
        "guardian agreed on", null=True, blank=True, help_text="That this athlete trains here and that this is kept."
    )
    # SDs above the middle of the room, from all estimates; can be made again like those.
    fitness = models.FloatField(default=0, editable=False)
    # Ids of efforts that are better than the others let anyone believe, and so nobody's best; made with the estimates.
    too_good = models.JSONField(default=list, blank=True, editable=False)
    merged_into = models.ForeignKey(
        "self",
        models.CASCADE,
        null=True,
        blank=True,
        editable=False,
        related_name="merged",
        help_text="Who this is; the row stays as another name of theirs.",
    )
    created_at = models.DateTimeField(auto_now_add=True)

    everyone = models.Manager()
    objects = HereManager()

    class Meta:
        ordering = ["name", "id"]
        default_manager_name = "objects"
        constraints = [
            models.UniqueConstraint(fields=["board_name"], name="board_name_is_unique"),
            models.CheckConstraint(
                condition=models.Q(leave_until__isnull=True) | models.Q(leave_until__gt=models.F("leave_from")),
                name="leave_ends_after_it_begins",
                violation_error_message="Who is away comes back on a later day. Give the first day away, and that one.",
            ),
            models.CheckConstraint(
                condition=models.Q(body_mass_kg__isnull=True) | models.Q(body_mass_kg__range=(25, 300)),
                name="athlete_body_mass_is_plausible",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_minor(self) -> bool:
        """Under eighteen today, as far as is known."""
        today = timezone.localdate()
        return (
            bool(self.born)
            and (today.year - self.born.year - (today.timetuple()[1:3] < self.born.timetuple()[1:3])) < 18
        )

    def clean(self) -> None:
        if self.guardian_agreed_on and not self.guardian:
            raise ValidationError({"guardian": "Say who agreed."})
        if self.leave_until and not self.leave_from:
            raise ValidationError({"leave_from": "Give the first day away too."})
        if self.born and self.born >= timezone.localdate():
            raise ValidationError({"born": "A date of birth lies in the past. Check the year."})
