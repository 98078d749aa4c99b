"""The Celery app: broker and schedule come from settings, tasks from each app's tasks.py."""

import os

from celery import Celery
from celery.signals import setup_logging

import coachhub.broker  # noqa: F401  # makes its transport known

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coachhub.settings")

app = Celery("coachhub", set_as_current=True)
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()


@setup_logging.connect
def _keep_logging(**_) -> None:
    """Whoever answers this signal has seen to logging: a worker logs as the settings say, like the web server."""
