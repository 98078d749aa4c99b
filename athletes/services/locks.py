from athletes.models import Athlete


def athlete_lock(pk: int) -> None:
    """Let whoever else writes about this athlete wait until the transaction ends; a second click finds the first.

    SQLite needs none: there one transaction writes at a time.
    """
    Athlete.objects.select_for_update().filter(pk=pk).values_list("pk").first()
