from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError

from athletes.accounts.invitations import invitation_address, invite_again
from athletes.accounts.write import account_save
from athletes.models import Account


class Command(BaseCommand):
    help = "Make an owner's account, who can then sign in and let others in."

    def add_arguments(self, parser):
        parser.add_argument("name", help="to sign in with: letters, digits and @ . + - _")
        parser.add_argument(
            "--again", action="store_true", help="for an owner who forgot the password or lost the second step"
        )

    def handle(self, *args, name: str, again: bool, **options):
        account = Account.objects.filter(username=name).first()
        if account and not again:
            raise CommandError(f"There is an account {name} already. For a new link: owner {name} --again")
        if again and (account is None or account.role != Account.Role.OWNER or not account.is_active):
            raise CommandError(f"There is no owner {name} who may sign in. Leave --again out to make one.")
        try:
            address = invite_again(account) if account else self.invite(name)
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from None
        self.stdout.write(f"Open this link to choose the password of {name}; it opens once, within three days:")
        self.stdout.write(address)

    def invite(self, name: str) -> str:
        account = account_save(account=Account(username=name, name=name, role=Account.Role.OWNER))
        return invitation_address(account)
