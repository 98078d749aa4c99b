import secrets

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError

from athletes.accounts.write import account_save
from athletes.models import Account


class Command(BaseCommand):
    help = "Make an owner's account, who can then sign in and let others in."

    def add_arguments(self, parser):
        parser.add_argument("name", help="to sign in with: letters, digits and @ . + - _")

    def handle(self, *args, name: str, **options):
        if Account.objects.filter(username=name).exists():
            raise CommandError(
                f"There is an account {name} already. For a new password: python3 manage.py changepassword {name}"
            )
        password = secrets.token_urlsafe(9)
        try:
            account_save(account=Account(username=name, name=name, role=Account.Role.OWNER), password=password)
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from None
        self.stdout.write(f"Sign in as {name} with the password {password}")
        self.stdout.write("It is shown only this once. Change it after signing in, under the account's page.")
