from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from coachhub.archive import CannotArchive, write_archive
from coachhub.archive_words import contents


class Command(BaseCommand):
    help = "Write the whole gym into one file, from which `restore` makes it again. May be run while coachhub runs."

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path, help="like gym-2026-11-25.zip; an older archive there is replaced")

    def handle(self, *args, file: Path, **options):
        if not file.absolute().parent.is_dir():
            raise CommandError(f"There is no folder {file.absolute().parent}. Make it first, or choose another.")
        try:
            manifest = write_archive(file.absolute())
        except CannotArchive as error:
            raise CommandError(str(error)) from None
        except OSError as error:
            raise CommandError(f"{file} cannot be written: {error.strerror}.") from None
        self.stdout.write(f"{contents(manifest)} are in {file} ({file.stat().st_size / 1e6:.1f} MB).")
        self.stdout.write(
            "It holds private facts, and the accounts with the hashes of their passwords: keep it where only you can "
            "read it. Personal links go on working where SECRET_KEY is the same (without one set: what stands in "
            f"{settings.DATA_DIR / 'secret_key'})."
        )
