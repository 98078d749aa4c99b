from django.contrib.auth.models import AbstractUser
from django.db import models


class Account(AbstractUser):
    """Someone who signs in: owner, coach or staff. Athletes need no account, they have a personal link."""

    class Role(models.TextChoices):
        STAFF = "staff", "Staff"
        COACH = "coach", "Coach"
        OWNER = "owner", "Owner"

    first_name = None
    last_name = None
    name = models.CharField("name", max_length=80, help_text="As colleagues call this person.")
    role = models.CharField(max_length=10, choices=Role, default=Role.STAFF)

    REQUIRED_FIELDS = ["name"]

    class Meta:
        ordering = ["username"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(role__in=["staff", "coach", "owner"]), name="account_role_is_known"
            )
        ]

    @property
    def coaches(self) -> bool:
        """Whether decisions of a coach are theirs to make."""
        return self.role in (self.Role.COACH, self.Role.OWNER)

    def __str__(self) -> str:
        return self.name or self.username

    def get_full_name(self) -> str:
        return str(self)

    def get_short_name(self) -> str:
        return str(self)
