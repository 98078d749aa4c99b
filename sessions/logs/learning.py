"""What logs teach the estimates: each standing log once, when it arrives, against what is known then without it."""

import logging
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.estimates.people import load_people
from athletes.estimates.write import estimates_refresh
from athletes.locks import athlete_lock
from athletes.models import Evidence
from sessions.logs.evidence import evidence_rows
from sessions.models import Log, Target

logger = logging.getLogger(__name__)

MOST_LOGS = 2000  # in one go; the sweep takes the rest


def learn(athlete_id: int | None = None) -> int:
    """Take in the logs that the estimates have not heard of, of one athlete or of all; the number of athletes."""
    waiting = Log.objects.filter(learnt_at__isnull=True, replaced=False)
    if athlete_id is not None:
        waiting = waiting.filter(athlete_id=athlete_id)
    athletes = dict.fromkeys(waiting.order_by("id").values_list("athlete_id", flat=True)[:MOST_LOGS])
    for athlete in athletes:
        _learn(athlete)
    return len(athletes)


@transaction.atomic
def _learn(athlete_id: int) -> None:
    athlete_lock(athlete_id)
    logs = list(
        Log.objects.filter(athlete_id=athlete_id, learnt_at__isnull=True, replaced=False)
        .select_related("session")
        .prefetch_related("entries")
        .order_by("date", "done_at")
    )
    targets = _targets(athlete_id, {log.session_id for log in logs})
    learnt = [log.pk for log in logs if _take_in(log, targets.get(log.session_id, []))]
    if learnt:
        estimates_refresh(athletes=[athlete_id])
        Log.objects.filter(pk__in=learnt).update(learnt_at=timezone.now())


def _take_in(log: Log, targets: list[Target]) -> bool:
    """Read one log against what is known without it. An odd one must not keep the others waiting: it is tried again."""
    try:
        with transaction.atomic():
            forget({log.key})
            estimates_refresh(athletes=[log.athlete_id])
            Evidence.objects.bulk_create(evidence_rows(log, log.entries.all(), targets, load_people([log.athlete_id])))
    except Exception:
        logger.exception("log %s could not be taken in", log.key)
        return False
    return True


def forget(sources: set[UUID]) -> None:
    """Take back what these logs said."""
    Evidence.objects.filter(source__in=sources).delete()


def _targets(athlete_id: int, sessions: set[int]) -> dict[int, list[Target]]:
    by_session: dict[int, list[Target]] = {}
    for target in Target.objects.filter(athlete_id=athlete_id, session_id__in=sessions):
        by_session.setdefault(target.session_id, []).append(target)
    return by_session
