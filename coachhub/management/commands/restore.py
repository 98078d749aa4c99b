import json
import zipfile
from pathlib import Path
from tempfile import TemporaryDirectory

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from coachhub.archive import CannotArchive
from coachhub.archive_words import contents
from coachhub.backups import open_sealed
from coachhub.older_archives import up_to_date
from coachhub.prepare import RESTORING, prepare_database, prepare_estimates
from coachhub.restoring import BROKEN, refuse_unless_empty, restore_archive, verified


class Command(BaseCommand):
    help = "Make a gym again from the file that `backup` wrote. Only into an empty installation."

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)
        parser.add_argument("--key", type=Path, help="file with the private key, for a sealed back-up of the night")
        parser.add_argument("--check", action="store_true", help="only see whether it opens and is whole")

    def handle(self, *args, file: Path, key: Path | None, check: bool, **options):
        with TemporaryDirectory(dir=settings.DATA_DIR, prefix=RESTORING) as folder:
            if key is None:
                return self.take(file, check, Path(folder))
            plain = Path(folder) / "gym.zip"
            try:
                open_sealed(file, key.read_text(), plain)
            except CannotArchive as error:
                raise CommandError(str(error)) from None
            except OSError as error:
                raise CommandError(f"{key} cannot be read: {error.strerror}.") from None
            return self.take(plain, check, Path(folder))

    def take(self, file: Path, check: bool, folder: Path) -> None:
        if check:
            try:
                with zipfile.ZipFile(file) as archive:
                    manifest = verified(archive)
            except (CannotArchive, OSError, *BROKEN) as error:
                raise CommandError(str(error)) from None
            self.stdout.write(f"{contents(manifest)} would come back, as of {manifest['made_at']}.")
            return
        prepare_database(self.stdout.write)
        try:
            refuse_unless_empty()
            manifest = restore_archive(up_to_date(file, folder))
        except CannotArchive as error:
            raise CommandError(str(error)) from None
        with zipfile.ZipFile(file) as archive:  # an older one was written anew just now
            made_at = json.loads(archive.read("manifest.json"))["made_at"]
        self.stdout.write(f"{contents(manifest)} are back, as of {made_at}.")
        prepare_estimates(self.stdout.write)
        self.stdout.write("Now start coachhub: python3 manage.py start")
