from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from coachhub.archive import CannotArchive
from coachhub.archive_words import contents
from coachhub.prepare import prepare_database, prepare_estimates
from coachhub.restoring import restore_archive


class Command(BaseCommand):
    help = "Make a gym again from the file that `backup` wrote. Only into an empty installation."

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)

    def handle(self, *args, file: Path, **options):
        prepare_database(self.stdout.write)
        try:
            manifest = restore_archive(file)
        except CannotArchive as error:
            raise CommandError(str(error)) from None
        self.stdout.write(f"{contents(manifest)} are back, as of {manifest['made_at']}.")
        prepare_estimates(self.stdout.write)
        self.stdout.write("Now start coachhub: python3 manage.py start")
