from django.core.exceptions import ValidationError
from django.db import transaction
from rest_framework.authtoken.models import Token

from athletes.accounts.tokens import kept_as
from athletes.models import Account, Gym


@transaction.atomic
def account_save(*, account: Account, password: str = "") -> Account:
    """Keep an account, with a new password when one is given; somebody must stay who can let others in."""
    # Locked together: two owners who step down at the same moment must not leave the gym without one.
    owners = Account.objects.select_for_update().filter(role=Account.Role.OWNER, is_active=True)
    stays = set(owners.values_list("pk", flat=True)) - {account.pk}
    if account.pk and not stays and not (account.role == Account.Role.OWNER and account.is_active):
        raise ValidationError(f"{account} is the last owner who can sign in. Make someone else an owner first.")
    if password:
        account.set_password(password)
    elif not account.password:
        account.set_unusable_password()  # until the invitation is used
    account.full_clean()
    account.save()
    return account


@transaction.atomic
def token_replace(*, account: Account) -> str:
    """A fresh API token; the earlier one stops working at once. The only time that it can be read."""
    token_remove(account=account)
    made = Token.generate_key()
    Token.objects.create(user=account, key=kept_as(made))
    return made


def token_remove(*, account: Account) -> int:
    """Stop the API token; 0 when there was none."""
    return Token.objects.filter(user=account).delete()[0]


def second_step_ask(*, asked: bool) -> None:
    """Ask owners and coaches for a second step from now on, or no longer."""
    Gym.objects.update_or_create(pk=1, defaults={"second_step": asked})
