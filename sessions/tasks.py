"""Background jobs: an id in, one call."""

import logging

from celery import shared_task
from kombu.exceptions import OperationalError

from sessions import publishing

logger = logging.getLogger(__name__)


@shared_task(name="sessions.publish")
def publish(publication_id: int) -> None:
    publishing.run(publication_id)


@shared_task(name="sessions.publication_sweep")
def publication_sweep() -> None:
    for publication_id in publishing.requeue_silent():
        publish.delay(publication_id)


def send(publication_id: int) -> None:
    """Hand a publication to the worker; if the broker is away, the sweep will do it later."""
    try:
        publish.delay(publication_id)
    except (OperationalError, OSError):
        logger.exception("publication %d could not be sent; the sweep sends it again", publication_id)
