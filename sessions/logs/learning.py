"""What logs teach the estimates: each standing log once, when it arrives, against what is known then without it."""

import logging
from collections import defaultdict
from collections.abc import Iterable
from datetime import timedelta
from uuid import UUID

from django.db import transaction
from django.db.models import Exists, OuterRef, QuerySet
from django.utils import timezone

from athletes.estimates.people import People, load_people
from athletes.estimates.write import estimates_refresh
from athletes.locks import athlete_lock
from athletes.models import Evidence
from sessions.logs.class_end import cut_short
from sessions.logs.evidence import evidence_rows
from sessions.models import Log, Target

logger = logging.getLogger(__name__)

MOST_LOGS = 2000  # in one go; the sweep takes the rest
TOLD_BY_LATER_LOGS = timedelta(days=2)  # for as long as other logs of a class, or its clock, may still come in


def learn(athlete_id: int | None = None) -> int:
    """Take in the logs that the estimates have not heard of, of one athlete or of all; the number of athletes."""
    waiting = Log.objects.standing().filter(learnt_at__isnull=True)
    if athlete_id is not None:
        waiting = waiting.filter(athlete_id=athlete_id)
    else:
        reconsider()
    athletes = dict.fromkeys(waiting.order_by("id").values_list("athlete_id", flat=True)[:MOST_LOGS])
    for athlete in athletes:
        _learn(athlete)
    return len(athletes)


@transaction.atomic
def _learn(athlete_id: int) -> None:
    athlete_lock(athlete_id)
    waiting = Log.objects.filter(athlete_id=athlete_id, learnt_at__isnull=True)
    forget(set(waiting.values_list("key", flat=True)))
    estimates_refresh(athletes=[athlete_id])  # what is known without them, and without those that they replace
    if take_in(waiting):
        estimates_refresh(athletes=[athlete_id])


def reconsider() -> int:
    """Let go again of what was learnt from logs whose class, as the later ones show, ended early; how many."""
    since = timezone.now() - TOLD_BY_LATER_LOGS
    heard = Evidence.objects.filter(source=OuterRef("key"))
    lately = Log.objects.standing().filter(Exists(heard), received_at__gte=since, learnt_at__isnull=False)
    return Log.objects.filter(pk__in=cut_short(lately)).update(learnt_at=None)


def take_in(waiting: QuerySet[Log]) -> int:
    """Keep what standing logs say as evidence, read against the estimates as they are; how many could be read.

    The estimates are not made anew. An odd log must not keep the others waiting: it is tried again another time.
    """
    logs = list(waiting.filter(replaced=False).select_related("session").prefetch_related("entries"))
    people = load_people(sorted({log.athlete_id for log in logs}))
    rows = {athlete.pk: row for row, athlete in enumerate(people.athletes)}
    targets, cut = _targets(logs), cut_short(waiting.filter(replaced=False))
    learnt = [
        log.pk
        for log in sorted(logs, key=lambda log: (log.date, log.done_at))
        if log.pk in cut or _read(log, targets[log.session_id, log.athlete_id], people, rows[log.athlete_id])
    ]
    Log.objects.filter(pk__in=learnt).update(learnt_at=timezone.now())
    return len(learnt)


def _read(log: Log, targets: list[Target], people: People, row: int) -> bool:
    try:
        with transaction.atomic():
            Evidence.objects.bulk_create(evidence_rows(log, log.entries.all(), targets, people, row))
    except Exception:
        logger.exception("log %s could not be taken in", log.key)
        return False
    return True


def forget(sources: set[UUID]) -> None:
    """Take back what these logs said."""
    Evidence.objects.filter(source__in=sources).delete()


def _targets(logs: Iterable[Log]) -> dict[tuple[int, int], list[Target]]:
    """The targets that these logs answer, by session and athlete."""
    asked = {(log.session_id, log.athlete_id) for log in logs}
    sessions, athletes = {session for session, _ in asked}, {athlete for _, athlete in asked}
    found: dict[tuple[int, int], list[Target]] = defaultdict(list)
    for target in Target.objects.filter(session_id__in=sessions, athlete_id__in=athletes):
        if (target.session_id, target.athlete_id) in asked:
            found[target.session_id, target.athlete_id].append(target)
    return found
