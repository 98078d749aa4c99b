import base64
import secrets

from django.db import models
from django.db.models import Q
from django.utils.crypto import constant_time_compare, salted_hmac

NONCE_LENGTH = 12
PAGES, CALENDAR = "athletes.link", "athletes.link.calendar"  # what a token opens


class Link(models.Model):
    """A personal link of an athlete, or the link of a wall screen.

    The row keeps a random nonce only; what is printed and sent carries the nonce and a signature made with the
    installation's secret key (`signature`), so a copy of the database opens no page.
    """

    class Kind(models.TextChoices):
        ATHLETE = "athlete", "athlete's phone"
        SCREEN = "screen", "wall screen"

    kind = models.CharField(max_length=10, choices=Kind, default=Kind.ATHLETE)
    athlete = models.ForeignKey("athletes.Athlete", models.CASCADE, null=True, blank=True, related_name="links")
    nonce = models.CharField(max_length=24, unique=True)
    only_device = models.CharField(max_length=24, blank=True, default="", help_text="See athletes.links.devices.")
    created_at = models.DateTimeField(auto_now_add=True)
    created_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey("athletes.Account", models.SET_NULL, null=True, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(kind="athlete", athlete__isnull=False) | Q(kind="screen", athlete__isnull=True),
                name="link_has_an_athlete_or_is_a_screen",
            ),
            models.UniqueConstraint(
                fields=["athlete"], condition=Q(revoked_at__isnull=True, kind="athlete"), name="one_link_per_athlete"
            ),
            models.UniqueConstraint(
                fields=["kind"], condition=Q(revoked_at__isnull=True, kind="screen"), name="one_screen_link"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} link {self.pk}"

    @property
    def token(self) -> str:
        """What stands in the printed address: nonce and signature. A phone keeps the two apart: `links.keys`."""
        return f"{self.nonce}{signature(self.nonce)}"

    @property
    def calendar_token(self) -> str:
        """The same for the calendar, which is handed to other programs: it opens nothing else."""
        return f"{self.nonce}{signature(self.nonce, CALENDAR)}"

    @classmethod
    def nonce_of(cls, token: str, use: str = PAGES) -> str | None:
        """The nonce in `token` when its signature for this use is right, else None."""
        nonce, signed = token[:NONCE_LENGTH], token[NONCE_LENGTH:]
        return nonce if constant_time_compare(signed, signature(nonce, use)) else None


def new_nonce() -> str:
    """A fresh random nonce: 12 characters of base64, 72 bits."""
    return secrets.token_urlsafe(9)


def signature(nonce: str, use: str = PAGES) -> str:
    """The first 96 bits of an HMAC over `nonce` with the installation's secret key, for one `use`, in base64."""
    digest = salted_hmac(use, nonce, algorithm="sha256").digest()[:12]
    return base64.urlsafe_b64encode(digest).decode()
