"""Background jobs: one call each."""

from celery import shared_task

from athletes.services.estimates import estimates_refresh


@shared_task(name="athletes.estimates_refresh")
def refresh() -> None:
    estimates_refresh()
