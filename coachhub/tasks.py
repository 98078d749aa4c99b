"""Background jobs of the whole."""

from celery import shared_task

from coachhub import archive_shelf


@shared_task(name="coachhub.make_archive")
def make_archive() -> None:
    archive_shelf.make()
