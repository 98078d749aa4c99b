import time
from collections.abc import Iterable

from django.db import connection

from athletes.models import Athlete

TURN_S = 0.12


def athlete_lock(pk: int) -> None:
    """Let whoever else writes about this athlete wait until the transaction ends; a second click finds the first."""
    athletes_lock([pk])


def athletes_lock(ids: Iterable[int]) -> list[Athlete]:
    """The same for several athletes, always in the order of their ids, so that two never wait for each other; the
    athletes as they are from then on.

    SQLite needs none: there one transaction writes at a time.
    """
    return list(Athlete.objects.select_for_update().filter(pk__in=ids).order_by("pk"))


def give_way() -> None:
    """Between two long transactions of one job: let others write.

    SQLite keeps no queue of who waits to write: they look again every tenth of a second, and would hardly ever meet the
    moment in between.
    """
    if connection.vendor == "sqlite":
        time.sleep(TURN_S)
