"""What each benchmark of the whole site begins with."""

import os

import django


def prepare_site() -> None:
    """Django as it is configured for a gym, its tables and its static files."""
    os.environ["DJANGO_SETTINGS_MODULE"] = "coachhub.settings"
    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False, ignore_patterns=["redoc"])
