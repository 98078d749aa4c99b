import os

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import connections

from coachhub.demo.seed import database_is_empty
from coachhub.demo.signpost import signpost
from coachhub.prepare import has_owner, prepare_database, prepare_static_files, seed_demo
from coachhub.serve import (
    EVERYWHERE,
    CannotStart,
    local_address,
    only_one,
    refuse_taken_port,
    serve,
    usual_address,
)


class Command(BaseCommand):
    help = "Start everything: database, web server and worker. An empty database gets the demo gym."

    def add_arguments(self, parser):
        parser.add_argument("--host", default="127.0.0.1", help="address to listen at; 0.0.0.0 for the whole network")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--empty", action="store_true", help="leave an empty database empty: no demo gym")
        parser.add_argument(
            "--demo-open", action="store_true", help="let others sign in with the demo's password, which everyone knows"
        )

    def handle(self, *args, host: str, port: int, empty: bool, demo_open: bool, **options):
        if not os.environ.get("SITE_URL"):
            settings.SITE_URL = os.environ["SITE_URL"] = usual_address(host, port)  # for the children, too
        if demo_open:
            settings.DEMO_OPEN, os.environ["DEMO_OPEN"] = True, "true"  # for the children, too
        try:
            with only_one(local_address(host, port)):
                refuse_taken_port(host, port)
                self.prepare(empty)
                serve(host, port, ready=lambda: self.greet(host), say=self.say)
        except CannotStart as reason:
            raise CommandError(str(reason)) from None
        except KeyboardInterrupt:
            raise CommandError("Stopped before everything was ready. The same command goes on from here.") from None
        self.say("Stopped. The same command starts again; nothing is lost.")

    def prepare(self, empty: bool) -> None:
        self.say("Preparing the database …")
        prepare_database(self.say)
        if not empty and database_is_empty():
            self.say("The database is empty: filling it with the demo gym, half a minute (--empty leaves it out) …")
            seed_demo()
        prepare_static_files()
        connections.close_all()
        self.say("Starting the web server and the worker …")

    def greet(self, host: str) -> None:
        lines = ["", f"coachhub is ready: {settings.SITE_URL}/", "", *signpost(settings.SITE_URL)]
        if host in EVERYWHERE and settings.SITE_URL.startswith("http://localhost:"):
            lines += ["Others are refused until it knows its name: SITE_URL=http://… with the address they type.", ""]
        if not has_owner():
            lines += ["Nobody can sign in yet. In a second terminal: python3 manage.py owner NAME", ""]
        self.say("\n".join([*lines, f"Stop with Ctrl-C. Logs: {settings.DATA_DIR / 'log'}"]))
        connections.close_all()

    def say(self, text: str) -> None:
        self.stdout.write(text)
        self.stdout.flush()
