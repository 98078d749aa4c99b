from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from coachhub.archive import CannotArchive
from coachhub.older_archives import rewrite


class Command(BaseCommand):
    help = "Write an older archive as this version does, through this process's empty database. `restore` calls it."

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)
        parser.add_argument("new", type=Path)

    def handle(self, *args, file: Path, new: Path, **options):
        try:
            rewrite(file, new)
        except CannotArchive as error:
            raise CommandError(str(error)) from None
