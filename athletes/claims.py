"""A long job is a row that one worker at a time owns: claimed, shown to be alive, sent again when it falls silent.

Every step may be killed and done again. A worker owns a row by its claim token; each write first renews the heartbeat
under that token in the same transaction, so a worker that lost its claim can write nothing more. The model has `state`
with RUNNING, the states of a job under way, and `claim`, `heartbeat_at`, `attempts` and `failure`.
"""

import logging
import threading
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta

from django.db import DatabaseError, connection
from django.db.models import F, Model, Q, QuerySet
from django.utils import timezone

logger = logging.getLogger(__name__)

SILENT_AFTER = timedelta(seconds=9)  # a pulse comes every two; sweeps look every three
PULSE_S = 2.0
MOST_ATTEMPTS = 4


class ClaimLost(Exception):
    """Another worker has taken this job over."""


def claim(waiting: QuerySet, pk: int, **changes) -> Model | None:
    """The row `pk`, owned from now on, with `changes` to it; None when it is not `waiting` (any more)."""
    mine = {"claim": uuid.uuid4(), "heartbeat_at": timezone.now(), "attempts": F("attempts") + 1}
    if not waiting.filter(pk=pk).update(**mine, **changes):
        logger.info("%s %d is not waiting any more; skipping", waiting.model._meta.verbose_name, pk)
        return None
    return waiting.model.objects.get(pk=pk)


@contextmanager
def held(row: Model, reasons: type[Exception], defect: str) -> Iterator[None]:
    """Around the work on a claimed row: one of the `reasons` fails it in its own words, a defect in those given.

    While it goes on, a thread shows that this process is alive, so that a step may take longer than the silence after
    which another worker takes over.
    """
    try:
        with _pulse(row):
            yield
    except ClaimLost:
        logger.warning("%s %d was taken over by another worker", row._meta.verbose_name, row.pk)
    except reasons as error:
        _mine(row).update(state=row.State.FAILED, claim=None, failure=str(error))
    except Exception:
        _mine(row).update(state=row.State.FAILED, claim=None, failure=defect)
        raise  # a task that failed must look failed


def beat(row: Model, **changes) -> None:
    """Renew the heartbeat, with `changes` to the row; ClaimLost when another worker owns it."""
    if not _mine(row).update(heartbeat_at=timezone.now(), **changes):
        raise ClaimLost


def requeue_silent(
    model: type[Model], what: str, *, after=SILENT_AFTER, most=MOST_ATTEMPTS, **queued
) -> dict[int, bool]:
    """Let rows wait again, as `queued`, whose worker has fallen silent; ids of all that should be sent again, and
    whether a worker had begun them.

    `what` was cut off `most` times fails with that reason.
    """
    now = timezone.now()
    # A heartbeat from the future was made by a clock that has since been put right: it would never grow old.
    told_by = Q(heartbeat_at__lt=now - after) | Q(heartbeat_at__gt=now + after)
    silent = model.objects.filter(told_by, state__in=model.RUNNING)
    reason = f"{what} was cut off {most} times. Ask whoever hosts coachhub to look at the worker."
    silent.filter(attempts__gte=most).update(state=model.State.FAILED, claim=None, failure=reason)
    found = {pk: claim is not None for pk, claim in silent.values_list("pk", "claim")}
    silent.filter(pk__in=found).update(claim=None, heartbeat_at=timezone.now(), **queued)
    return found


@contextmanager
def _pulse(row: Model) -> Iterator[None]:
    if connection.in_atomic_block:  # another connection could not see the row, or would wait for this one
        yield
        return
    over = threading.Event()

    def show() -> None:
        while not over.wait(PULSE_S):
            try:
                _mine(row).update(heartbeat_at=timezone.now())
            except DatabaseError:  # the work itself will find out
                logger.warning("no pulse for %s %d", row._meta.verbose_name, row.pk)
                connection.close()
        connection.close()

    thread = threading.Thread(target=show, name="pulse", daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join(timeout=1)


def _mine(row: Model) -> QuerySet:
    return type(row).objects.filter(pk=row.pk, claim=row.claim, state__in=row.RUNNING)
