"""An athlete erased on request: really gone, from every table and every page that was made of it.

What people were shown before cannot be taken back, and archives that were made before still hold it.
"""

import time
from functools import partial

from django.core.exceptions import ValidationError
from django.db import connection, transaction
from django.db.models import Q

from athletes.gym.read import today
from athletes.locks import athlete_lock
from athletes.models import ApiAnswer, Athlete, Import, ImportRemark
from sessions.boards import paper
from sessions.boards.unused import remove_unused
from sessions.class_versions import classes_moved
from sessions.models import PersonalPage, Publication, PublishedSession

WAIT_MS = 500  # for readers
BEING_PUBLISHED = "A week is being published right now. Wait until it is done, then erase."


@transaction.atomic
def athlete_erase(*, athlete: Athlete) -> None:
    """Delete an athlete with everything kept of them, their frozen pages, and their name from every board.

    Boards of weeks that go on are made anew without them; those of weeks that are over, and of revisions that were
    replaced, are taken down. Files that were brought in and wait for someone are forgotten: they may name them. Pages
    that no row names, left behind by redrawing, go at once: no week is being published that could still need one.
    Those whom the athlete turned out to be as well (`merged_into`) go along. ValidationError while a week is being
    published.
    """
    begun = time.time()
    if Publication.objects.filter(state__in=Publication.RUNNING).exists():
        raise ValidationError(BEING_PUBLISHED)
    athlete_lock(athlete.pk)
    shown = Publication.objects.filter(Q(targets__athlete=athlete) | Q(pages__athlete=athlete)).values("pk")
    publications = list(Publication.objects.filter(pk__in=shown).select_related("week"))
    gone = [*PersonalPage.objects.filter(athlete=athlete).values_list("path", flat=True), *_boards_of(publications)]
    names = [athlete.name, *athlete.merged.values_list("name", flat=True)]
    on_screens = PublishedSession.objects.filter(publication__state="live", date__gte=today(), targets__athlete=athlete)
    moved = {(session.class_key, session.date) for session in on_screens}
    athlete.delete()
    classes_moved(moved)
    ApiAnswer.objects.all().delete()  # they may name them
    for name in names:
        ImportRemark.objects.filter(Q(subject__iexact=name) | Q(text__icontains=name)).delete()
    kept = (Import.State.DONE, Import.State.TAKEN_BACK)  # without their files and samples
    Import.objects.exclude(state__in=[*Import.RUNNING, *kept]).delete()
    for publication in publications:
        goes_on = publication.state == Publication.State.LIVE and publication.week.ends_on >= today()
        sheets = paper.sheets(publication) if goes_on else {f"paper_{size}": "" for size in paper.SIZES}
        Publication.objects.filter(pk=publication.pk).update(**sheets)
    transaction.on_commit(partial(remove_unused, gone, begun))
    transaction.on_commit(log_empty)


def log_empty() -> None:
    """Empty SQLite's log beside its file, which else holds what was written last until it is written over. While
    somebody reads it stays, until the night."""
    if connection.vendor != "sqlite" or connection.in_atomic_block:  # in a transaction it cannot be
        return
    with connection.cursor() as cursor:
        [kept] = cursor.execute("PRAGMA busy_timeout").fetchone()
        cursor.execute(f"PRAGMA busy_timeout = {WAIT_MS}")
        try:
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
        finally:
            cursor.execute(f"PRAGMA busy_timeout = {kept}")


def _boards_of(publications: list[Publication]) -> list[str]:
    sheets = [getattr(publication, f"paper_{size}") for publication in publications for size in paper.SIZES]
    return [name for name in sheets if name]
