from django.core.management.base import BaseCommand, CommandError

from coachhub.doctor import findings


class Command(BaseCommand):
    help = "See what whoever hosts coachhub still has to mend: address, folder, database, accounts, worker, back-ups."
    requires_system_checks = []  # it says itself what they found

    def handle(self, *args, **options):
        wrong = 0
        for well, words in findings():
            self.stdout.write(f"{'  ok  ' if well else '  !!  '} {words}")
            wrong += not well
        if wrong:
            raise CommandError(f"{wrong} to look at.")
        self.stdout.write("Nothing to mend.")
