from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from coachhub.units import folders, units


class Command(BaseCommand):
    help = "Write coachhub as services of systemd: web server and worker, started with the machine and kept running."

    def add_arguments(self, parser):
        parser.add_argument("folder", type=Path, help="like /etc/systemd/system")
        parser.add_argument("--user", default="coachhub", help="whom they run as; the data folder is to be theirs")
        parser.add_argument("--port", type=int, default=8000, help="of this machine, for the proxy in front")
        parser.add_argument(
            "--environment", type=Path, default=Path("/etc/coachhub.env"), help="file with SITE_URL and the others"
        )

    def handle(self, *args, folder: Path, user: str, port: int, environment: Path, **options):
        try:
            for name, text in units(user=user, port=port, environment=environment).items():
                (folder / name).write_text(text)
                self.stdout.write(f"{folder / name}")
        except OSError as error:
            raise CommandError(f"{error.filename}: {error.strerror}.") from None
        data, backups = folders(environment)
        self.stdout.write(f"Write SITE_URL=https://… into {environment}. Where it gains DATA_DIR or BACKUP_DIR, write")
        self.stdout.write("these files anew, for the services can write nowhere else. Then:")
        self.stdout.write(f"chown -R {user}: {data}" + ("" if backups.is_relative_to(data) else f" {backups}"))
        self.stdout.write("systemctl daemon-reload && systemctl enable --now coachhub-web coachhub-worker")
