from django.core.management.base import BaseCommand

from coachhub.prepare import prepare_database, prepare_static_files


class Command(BaseCommand):
    help = "Bring database and static files up to date: what has to be done before a web server is started by hand."

    def handle(self, *args, **options):
        prepare_database(self.stdout.write)
        prepare_static_files()
