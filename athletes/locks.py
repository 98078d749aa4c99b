from collections.abc import Iterable

from athletes.models import Athlete


def athlete_lock(pk: int) -> None:
    """Let whoever else writes about this athlete wait until the transaction ends; a second click finds the first."""
    athletes_lock([pk])


def athletes_lock(ids: Iterable[int]) -> None:
    """The same for several athletes, always in the order of their ids, so that two never wait for each other.

    SQLite needs none: there one transaction writes at a time.
    """
    list(Athlete.objects.select_for_update().filter(pk__in=ids).order_by("pk").values_list("pk"))
