"""From a queued publication to a live one: claim, compute, render, switch over. Every step may be done again."""

from django.db import transaction
from django.db.models import F
from django.db.models.functions import Coalesce
from django.utils import timezone

from athletes import claims
from athletes.claims import beat
from athletes.estimates.people import load_people
from athletes.gym.read import today
from athletes.models import Athlete
from sessions.boards import files, paper, phone
from sessions.by_hand.live import catch_up
from sessions.class_versions import classes_moved
from sessions.models import PersonalPage, Publication, PublishedSession
from sessions.publishing.draft import MEND, CannotScale, known_on
from sessions.publishing.rows import copy_targets, insert_ignoring_conflicts, insert_targets
from sessions.targets.compute import compute as targets_of
from sessions.targets.history import load_history
from sessions.weeks.days import occasions_of
from sessions.weeks.published import limited_since

State = Publication.State
BATCH = 1000  # athletes at a time: bounds memory; a batch costs a constant number of queries
DEFECT = (
    "Publishing stopped on an error in coachhub itself. What was published before stays. Try to publish again; if it "
    "stops again, whoever hosts coachhub finds the reason in the worker's log."
)


def run(publication_id: int) -> None:
    """Publish: nothing happens when another worker has it, or when it is gone or done."""
    queued = Publication.objects.filter(state=State.QUEUED)
    publication = claims.claim(queued, publication_id, state=State.COMPUTING)
    if publication is None:
        return
    with claims.held(publication, CannotScale, DEFECT):
        compute(publication)
        render(publication)
        catch_up(publication)  # before, so that nothing stale goes live; and after, for what came in that moment
        go_live(publication)
        catch_up(publication)


def compute(publication: Publication) -> None:
    """Work out and freeze the targets of every active athlete, in batches."""
    athletes = list(Athlete.objects.filter(active=True).order_by("pk").values_list("pk", flat=True))
    sessions = list(publication.sessions.all())
    # Progress counts every athlete twice, for targets and for the page, and the paper once.
    # `computed_at` keeps the first attempt's moment: rows written then are kept.
    started = Coalesce(F("computed_at"), timezone.now())
    beat(publication, total=2 * len(athletes) + 1, done=0, computed_at=started)
    if publication.brings_back_id:
        _spare(publication, [session for session in sessions if session.date >= today()])
    for session in sessions:
        if session.kept_from_id:
            with transaction.atomic():
                beat(publication)
                copy_targets(session)
    coming = [session for session in sessions if not session.kept_from_id]
    occasions = occasions_of(publication, coming)
    movements = {movement for session in coming for movement in session.definition.movements}
    for batch in _batches(athletes):
        people = load_people(batch, movements)
        history = load_history(people.athletes, known_on(coming))
        for session, occasion in occasions:
            try:
                found = list(targets_of(session.definition, people, history, occasion))
            except ValueError as error:
                raise CannotScale(f"{session.definition.name}: {error} {MEND}") from error
            with transaction.atomic():
                beat(publication)
                insert_targets(session, found)
        beat(publication, done=F("done") + len(batch))


def _spare(publication: Publication, sessions: list[PublishedSession]) -> None:
    """New targets for whoever got a limitation or a caution since the revision that is brought back was worked out."""
    since = publication.computed_at
    athletes = sorted(limited_since(since)) if since else []
    if not athletes or not sessions:
        return
    people = load_people(athletes)
    history = load_history(people.athletes, known_on(sessions))
    for session, occasion in occasions_of(publication, sessions):
        with transaction.atomic():
            beat(publication)
            insert_targets(session, targets_of(session.definition, people, history, occasion))


def render(publication: Publication) -> None:
    """Make one page per athlete, and the paper boards; files first, then their names."""
    beat(publication, state=State.RENDERING)
    sessions = list(publication.sessions.all())
    athletes = list(publication.targets.order_by("athlete_id").values_list("athlete_id", flat=True).distinct())
    for batch in _batches(athletes):
        pages = phone.pages(publication, sessions, batch)
        rows = [(publication.pk, athlete, files.write(page, ".json")) for athlete, page in pages]
        with transaction.atomic():
            beat(publication, done=F("done") + len(batch))
            insert_ignoring_conflicts(PersonalPage, ["publication", "athlete", "path"], rows)
    beat(publication, done=F("done") + 1, **paper.sheets(publication))


@transaction.atomic
def go_live(publication: Publication) -> None:
    """Switch the week over: readers see the old revision or this one, never a mix."""
    beat(publication)
    others = Publication.objects.filter(week=publication.week_id, state=State.LIVE).exclude(pk=publication.pk)
    others.update(state=State.SUPERSEDED)
    beat(publication, state=State.LIVE, live_at=timezone.now(), done=F("total"))
    shown = PublishedSession.objects.filter(publication__week=publication.week_id, publication__live_at__isnull=False)
    classes_moved(shown.filter(date__gte=today()).values_list("key", "date"))


def requeue_silent() -> dict[int, bool]:
    """Put publications back in the queue whose worker has fallen silent; ids of all that should be sent again,
    and whether a worker had begun them.
    """
    return claims.requeue_silent(Publication, "Publishing", state=State.QUEUED)


def _batches(ids: list[int]) -> list[list[int]]:
    return [ids[start : start + BATCH] for start in range(0, len(ids), BATCH)]
