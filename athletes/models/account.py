from django.contrib.auth.models import AbstractUser
from django.contrib.sessions.models import Session
from django.db import models
from rest_framework.authtoken.models import Token


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

    def save(self, *args, **kwargs) -> None:
        """A new password ends what the old one had opened: every log-in session and the API token."""
        # Django sets _password on a new password alone, not when it only hashes the same one in a better way.
        ends = self._password is not None and not self._state.adding
        super().save(*args, **kwargs)
        if ends:
            self.end_everything()

    def end_everything(self) -> None:
        keys = list(self.sign_ins.values_list("session_key", flat=True))
        Session.objects.filter(session_key__in=keys).delete()
        self.sign_ins.all().delete()
        Token.objects.filter(user=self).delete()

    def get_full_name(self) -> str:
        return str(self)

    def get_short_name(self) -> str:
        return str(self)
