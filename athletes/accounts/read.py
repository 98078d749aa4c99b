from django.db.models import Exists, OuterRef, QuerySet
from django_otp.plugins.otp_totp.models import TOTPDevice

from athletes.models import Account, Passkey


def anyone() -> bool:
    """Whether there is an account that can sign in. One query."""
    return Account.objects.filter(is_active=True).exists()


def accounts() -> QuerySet[Account]:
    """Every account, with `has_second`: whether a password alone does not open it. One query."""
    app = TOTPDevice.objects.filter(user=OuterRef("pk"), confirmed=True)
    has_second = Exists(app) | Exists(Passkey.objects.filter(account=OuterRef("pk")))
    return Account.objects.annotate(has_second=has_second).order_by("-is_active", "name")
