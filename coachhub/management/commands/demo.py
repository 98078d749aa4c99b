from datetime import date

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from coachhub.demo.gym import GYM, PASSWORD, ZONE
from coachhub.demo.seed import database_is_empty, seed

IN_USE = (
    "This database is in use already, and the demo only goes into an empty one. To look at the demo beside your own "
    "data, give it a folder of its own: DATA_DIR=/tmp/demo python3 manage.py start --port 8001"
)


class Command(BaseCommand):
    help = "Fill an empty database with the demo gym: invented people, two years of efforts, three weeks of sessions."

    def add_arguments(self, parser):
        parser.add_argument(
            "--as-of", type=date.fromisoformat, metavar="YYYY-MM-DD", help="the day it stands on; today if left out"
        )

    def handle(self, *args, as_of: date | None, **options):
        today = timezone.localdate(timezone=ZONE)
        if as_of and as_of > today:
            raise CommandError(f"{as_of} has not come yet. Give today or an earlier day.")
        if not database_is_empty():
            raise CommandError(IN_USE)
        seed(as_of or today)
        self.stdout.write(f"{GYM['name']} is ready. Sign in as owner, coach or staff with the password {PASSWORD}.")
