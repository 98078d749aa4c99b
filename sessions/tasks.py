"""Background jobs: an id in, one call."""

import logging

from celery import shared_task
from kombu.exceptions import OperationalError

from sessions.boards.unused import remove_unused
from sessions.by_hand import live as pinning
from sessions.logs import learning
from sessions.models import PublishedSession
from sessions.publishing import run as publishing

logger = logging.getLogger(__name__)


@shared_task(name="sessions.publish")
def publish(publication_id: int) -> None:
    publishing.run(publication_id)


@shared_task(name="sessions.publication_sweep")
def publication_sweep() -> None:
    for publication_id in publishing.requeue_silent():
        publish.delay(publication_id)


@shared_task(name="sessions.boards_sweep")
def boards_sweep() -> None:
    remove_unused()


@shared_task(name="sessions.learn_sweep")
def learn_sweep() -> None:
    learning.learn()


def send(publication_id: int) -> None:
    """Hand a publication to the worker; if the broker is away, the sweep will do it later."""
    try:
        publish.delay(publication_id)
    except (OperationalError, OSError):
        logger.exception("publication %d could not be sent; the sweep sends it again", publication_id)


@shared_task(name="sessions.learn")
def learn(athlete_id: int | None = None) -> None:
    learning.learn(athlete_id)


def send_learning(athlete_id: int) -> None:
    """Let the worker take in an athlete's logs; if the broker is away, the sweep does it later."""
    try:
        learn.delay(athlete_id)
    except (OperationalError, OSError):
        logger.exception("logs of athlete %d could not be sent on; the sweep takes them in", athlete_id)


@shared_task(name="sessions.redraw_wall")
def redraw_wall(session_id: int) -> None:
    pinning.redraw_wall(PublishedSession.objects.select_related("publication__week").get(pk=session_id))


def send_redraw(session_id: int) -> None:
    """Let the worker make a wall page anew; if the broker is away, the phones have it all the same."""
    try:
        redraw_wall.delay(session_id)
    except (OperationalError, OSError):
        logger.exception("the wall page of session %d could not be sent to the worker", session_id)
