import json
from uuid import NAMESPACE_URL, uuid5

from django.utils import timezone

from athletes.models import Athlete
from sessions.logs.write import log_write
from sessions.models import Log, PublishedSession


def form_log_write(*, athlete: Athlete, session: PublishedSession, mark: str, content: dict) -> Log:
    """Keep what a form without scripts says; the same form with the same words again gives the log that is kept.

    `mark` says which form it was. The key is made of both, because such a form cannot make one itself, and may be
    changed after going back. ValidationError, in words for the athlete, when a figure does not fit.
    """
    words = json.dumps([mark, content], sort_keys=True)
    key = uuid5(NAMESPACE_URL, f"{athlete.key} {words}")
    stamped = {**content, "key": key, "done_at": timezone.now()}
    return log_write(athlete=athlete, session=session, content=stamped, source=Log.Source.PHONE)
