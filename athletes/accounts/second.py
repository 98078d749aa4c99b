"""The second step of a sign-in: six digits from an authenticator app (TOTP, RFC 6238), or a code kept on paper.

django-otp keeps the secrets, takes each code once, and waits longer after each wrong one.
"""

from math import ceil

from django.db import transaction
from django.utils import timezone
from django_otp import devices_for_user, match_token
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from athletes.models import Account, Gym

ON_PAPER = 10  # codes


def asks_for_second(account: Account) -> bool:
    """Whether a password alone does not open this account."""
    return has_codes(account) or account.passkeys.exists()


def owes_second(account: Account, gym: Gym) -> bool:
    """Whether the gym asks this account for a second step that it does not have; no query where the gym asks nobody."""
    return _needed(account, gym) and not asks_for_second(account)


def has_codes(account: Account) -> bool:
    return any(True for _ in devices_for_user(account, confirmed=True))


def waits_s(account: Account, *, confirmed: bool = True) -> int:
    """For how many seconds no code of this account is looked at, because of wrong ones before."""
    said = [device.verify_is_allowed()[1] for device in devices_for_user(account, confirmed=confirmed)]
    until = [why["locked_until"] for why in said if why and "locked_until" in why]
    return max((ceil((moment - timezone.now()).total_seconds()) for moment in until), default=0)


def not_right(waited_s: int, otherwise: str) -> str:
    """What is said of a code that was not taken; `waited_s`: `waits_s` before it was looked at."""
    if waited_s <= 0:
        return otherwise
    wait = f"{waited_s} seconds" if waited_s < 120 else f"{ceil(waited_s / 60)} minutes"
    return f"After wrong codes none is looked at for a while. Wait {wait}, then type the one that is shown then."


def code_is_right(account: Account, code: str) -> bool:
    return match_token(account, code.replace(" ", "")) is not None


def codes_begin(account: Account) -> TOTPDevice:
    """The secret that is being set up; the same until it is confirmed."""
    begun = TOTPDevice.objects.filter(user=account, confirmed=False).order_by("pk").first()
    return begun or TOTPDevice.objects.create(user=account, confirmed=False, name="app")


@transaction.atomic
def codes_confirm(account: Account, code: str) -> list[str]:
    """Ask for codes from now on, once the app has shown that it makes the right ones; the codes for paper, or none."""
    device = codes_begin(account)
    if not device.verify_token(code.replace(" ", "")):
        return []
    codes_remove(account)
    device.confirmed = True
    device.save()
    paper = StaticDevice.objects.create(user=account, name="paper")
    codes = [StaticToken.random_token() for _ in range(ON_PAPER)]
    StaticToken.objects.bulk_create(StaticToken(device=paper, token=made) for made in codes)
    return codes


def codes_remove(account: Account) -> None:
    TOTPDevice.objects.filter(user=account, confirmed=True).delete()
    StaticDevice.objects.filter(user=account).delete()


def second_remove(account: Account) -> None:
    """Let a password alone open the account again."""
    TOTPDevice.objects.filter(user=account).delete()
    codes_remove(account)
    account.passkeys.all().delete()


def may_remove(account: Account, gym: Gym, *, passkey: int | None = None) -> bool:
    """Whether the gym lets the second step go: this passkey, or everything."""
    if not _needed(account, gym):
        return True
    return passkey is not None and (has_codes(account) or account.passkeys.exclude(pk=passkey).exists())


def _needed(account: Account, gym: Gym) -> bool:
    return gym.second_step and account.role in (Account.Role.COACH, Account.Role.OWNER)
