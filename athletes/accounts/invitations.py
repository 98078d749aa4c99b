"""A link that lets one person choose the password of one account, once, within three days.

Django's own tokens for forgotten passwords: made of the password that stood and of the last sign-in, so that a link no
longer opens anything once it was used.
"""

from django.conf import settings
from django.contrib.auth.tokens import default_token_generator
from django.db import transaction
from django.urls import reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from athletes.accounts.second import second_remove
from athletes.models import Account

DAYS = 3  # PASSWORD_RESET_TIMEOUT


def invitation_address(account: Account) -> str:
    number = urlsafe_base64_encode(force_bytes(account.pk))
    path = reverse("invitation", args=[number, default_token_generator.make_token(account)])
    return settings.SITE_URL + path


@transaction.atomic
def invite_again(account: Account) -> str:
    """A fresh link for someone who forgot the password or lost the phone: what they had no longer opens anything."""
    second_remove(account)
    account.set_unusable_password()
    account.save()
    account.end_everything()
    return invitation_address(account)
