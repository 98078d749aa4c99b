"""Jobs handed to the worker by name: whoever asks for work need not know who does it."""

import logging

from celery import current_app
from kombu.exceptions import OperationalError

logger = logging.getLogger(__name__)


def send(task: str, *arguments: int) -> bool:
    """Hand a job to the worker; False where the broker is away, which is logged: each job's sweep sends it again."""
    try:
        current_app.send_task(task, list(arguments))
    except (OperationalError, OSError):
        logger.exception("%s could not be sent to the worker", task)
        return False
    return True
