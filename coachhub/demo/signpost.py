"""The ways into the demo gym, for whoever has just started it."""

from django.conf import settings
from django.contrib.auth.hashers import check_password
from django.urls import reverse

from athletes.links.read import links_of_active, screen_link
from athletes.models import Account
from coachhub.demo.gym import ACCOUNTS, PASSWORD

NAMED = {username: name for username, name, _ in ACCOUNTS if username in ("coach", "staff", "owner")}


def signpost(address: str) -> list[str]:
    """Lines with log-ins, a personal link and the wall; none once the demo's passwords are changed."""
    open_to_all = _with_demo_password()
    if not open_to_all:
        return []
    lines = [f"  sign in as     {', '.join(open_to_all)}; password: {PASSWORD}"]
    if link := links_of_active().first():
        lines.append(f"  {link.athlete.board_name}'s phone  {address}{reverse('sessions:phone', args=[link.token])}")
    if screen := screen_link():
        lines.append(f"  wall screen    {address}{reverse('sessions:wall', args=[screen.token])}")
    alone = "works on this machine alone (--demo-open: for all)"
    says = "opens it to everybody who reaches this machine" if settings.DEMO_OPEN else alone
    return [*lines, f"  These are invented people. The password {says}.", ""]


def _with_demo_password() -> list[str]:
    """Usernames of the demo's accounts that still have its password."""
    found = Account.objects.filter(username__in=NAMED, is_active=True).order_by("role")
    accounts = [account for account in found if account.name == NAMED[account.username]]
    # Checking is slow on purpose, and the demo gave them all the same hash: once for each that there is.
    stands = {kept: check_password(PASSWORD, kept) for kept in {account.password for account in accounts}}
    return [account.username for account in accounts if stands[account.password]]
