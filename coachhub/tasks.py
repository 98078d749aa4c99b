"""Background jobs of the whole."""

from celery import shared_task
from django.conf import settings

from coachhub import archive_shelf, backups


@shared_task(name="coachhub.make_archive")
def make_archive() -> None:
    archive_shelf.make()


@shared_task(name="coachhub.make_backup")
def make_backup() -> None:
    if settings.BACKUP_KEY:
        backups.make()
