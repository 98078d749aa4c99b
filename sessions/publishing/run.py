"""From a queued publication to a live one: claim, compute, render, switch over.

Every step may be killed and done again. A worker owns a publication by its claim token; each write first renews the
heartbeat under that token in the same transaction, so a worker that lost its claim can write nothing more.
"""

import logging
import uuid
from datetime import timedelta

from django.db import transaction
from django.db.models import F
from django.db.models.functions import Coalesce
from django.utils import timezone

from athletes.estimates.people import load_people
from athletes.gym.read import today
from athletes.models import Athlete
from sessions.boards import files, paper, phone, wall
from sessions.by_hand.live import catch_up
from sessions.by_hand.read import standing_pins
from sessions.models import PersonalPage, Publication, PublishedSession, Target
from sessions.publishing.rows import copy_targets, insert_ignoring_conflicts
from sessions.targets.history import load_history
from sessions.targets.occasion import Occasion, pins_by_session
from sessions.targets.rows import TARGET_FIELDS, target_rows
from sessions.targets.settings import load_settings
from sessions.weeks.read import intent_factor_of

logger = logging.getLogger(__name__)

State = Publication.State
BATCH = 1000  # athletes at a time: bounds memory; a batch costs a constant number of queries
SILENT_AFTER = timedelta(seconds=60)
MOST_ATTEMPTS = 4


DEFECT = (
    "Publishing stopped on an error in coachhub itself. What was published before stays. Try to publish again; if it "
    "stops again, whoever hosts coachhub finds the reason in the worker's log."
)


class CannotScale(Exception):
    """A circuit of the week cannot be turned into targets; the message says which, and why."""


class ClaimLost(Exception):
    """Another worker has taken this publication over."""


def run(publication_id: int) -> None:
    """Publish: nothing happens when another worker has it, or when it is gone or done."""
    claim = uuid.uuid4()
    queued = Publication.objects.filter(pk=publication_id, state=State.QUEUED)
    now = timezone.now()
    if not queued.update(state=State.COMPUTING, claim=claim, heartbeat_at=now, attempts=F("attempts") + 1):
        logger.info("publication %d is not waiting any more; skipping", publication_id)
        return
    publication = Publication.objects.select_related("week").get(pk=publication_id)
    try:
        compute(publication)
        render(publication)
        catch_up(publication)  # before, so that nothing stale goes live; and after, for what came in that moment
        go_live(publication)
        catch_up(publication)
    except ClaimLost:
        logger.warning("publication %d was taken over by another worker", publication_id)
    except CannotScale as error:
        fail(publication, f"{error} Mend the circuit, then publish again. What was published before stays.")
    except Exception:
        fail(publication, DEFECT)
        raise  # a task that failed must look failed


def compute(publication: Publication) -> None:
    """Work out and freeze the targets of every active athlete, in batches."""
    athletes = list(Athlete.objects.filter(active=True).order_by("pk").values_list("pk", flat=True))
    sessions = list(publication.sessions.all())
    # Progress counts every athlete twice, for targets and for the page, and every session once, for the boards.
    # `computed_at` keeps the first attempt's moment: rows written then are kept.
    started = Coalesce(F("computed_at"), timezone.now())
    beat(publication, total=2 * len(athletes) + len(sessions) + 1, done=0, computed_at=started)
    for session in sessions:
        if session.kept_from_id:
            with transaction.atomic():
                beat(publication)
                copy_targets(session)
    coming = [session for session in sessions if not session.kept_from_id]
    occasions = occasions_of(publication, coming)
    # A week that is published late rests on what was known before it, not on what followed.
    known_on = min([today(), *(session.date for session in coming)])
    for batch in _batches(athletes):
        people = load_people(batch)
        history = load_history(people.athletes, known_on)
        for session, occasion in occasions:
            try:
                rows = target_rows(publication, session, people, history, occasion)
            except ValueError as error:
                raise CannotScale(f"{session.definition.name}: {error}") from error
            with transaction.atomic():
                beat(publication)
                insert_ignoring_conflicts(Target, TARGET_FIELDS, rows)
        beat(publication, done=F("done") + len(batch))


def occasions_of(publication: Publication, sessions: list[PublishedSession]) -> list[tuple[PublishedSession, Occasion]]:
    """What holds for each of these sessions of a publication. Four queries, however many there are."""
    settings = load_settings([session.definition for session in sessions], today())
    pins = pins_by_session(standing_pins([session.key for session in sessions]))
    caution = publication.content["gym"]["caution"]
    return [
        (
            session,
            Occasion(
                day=session.date,
                intent=intent_factor_of(publication.content, session),
                caution=caution,
                pins=pins[session.key],
                settings=settings,
            ),
        )
        for session in sessions
    ]


def render(publication: Publication) -> None:
    """Make one page per athlete, one wall page per session and the paper boards; files first, then their names."""
    beat(publication, state=State.RENDERING)
    sessions = list(publication.sessions.all())
    athletes = list(publication.targets.order_by("athlete_id").values_list("athlete_id", flat=True).distinct())
    for batch in _batches(athletes):
        pages = phone.pages(publication, sessions, batch)
        rows = [(publication.pk, athlete, files.write(page, ".json")) for athlete, page in pages]
        with transaction.atomic():
            beat(publication, done=F("done") + len(batch))
            insert_ignoring_conflicts(PersonalPage, ["publication", "athlete", "path"], rows)
    boards = []
    for session in sessions:
        lines = wall.board_lines(publication, session)
        page = files.write(wall.page(publication, session, lines), ".html")
        with transaction.atomic():
            beat(publication, done=F("done") + 1)
            publication.sessions.filter(pk=session.pk).update(wall_page=page)
        boards.append((session, lines))
    sheets = {f"paper_{size}": files.write(paper.board(publication, boards, size), ".pdf") for size in paper.SIZES}
    beat(publication, done=F("done") + 1, **sheets)


@transaction.atomic
def go_live(publication: Publication) -> None:
    """Switch the week over: readers see the old revision or this one, never a mix."""
    beat(publication)
    others = Publication.objects.filter(week=publication.week_id, state=State.LIVE).exclude(pk=publication.pk)
    others.update(state=State.SUPERSEDED)
    beat(publication, state=State.LIVE, live_at=timezone.now(), done=F("total"))


def beat(publication: Publication, **changes) -> None:
    """Renew the heartbeat, with `changes` to the row; ClaimLost when another worker owns the publication."""
    mine = Publication.objects.filter(pk=publication.pk, claim=publication.claim, state__in=Publication.RUNNING)
    if not mine.update(heartbeat_at=timezone.now(), **changes):
        raise ClaimLost


def fail(publication: Publication, reason: str) -> None:
    mine = Publication.objects.filter(pk=publication.pk, claim=publication.claim, state__in=Publication.RUNNING)
    mine.update(state=State.FAILED, failure=reason)


def requeue_silent() -> list[int]:
    """Put publications back in the queue whose worker has fallen silent; ids of all that should be sent again."""
    silent = Publication.objects.filter(state__in=Publication.RUNNING, heartbeat_at__lt=timezone.now() - SILENT_AFTER)
    silent.filter(attempts__gte=MOST_ATTEMPTS).update(
        state=State.FAILED,
        failure=f"Publishing was cut off {MOST_ATTEMPTS} times. Ask whoever hosts coachhub to look at the worker.",
    )
    ids = list(silent.values_list("pk", flat=True))
    silent.filter(pk__in=ids).update(state=State.QUEUED, claim=None, heartbeat_at=timezone.now())
    return ids


def _batches(ids: list[int]) -> list[list[int]]:
    return [ids[start : start + BATCH] for start in range(0, len(ids), BATCH)]
