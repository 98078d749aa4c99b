from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from athletes.models import Account
from sessions.class_versions import class_moved
from sessions.models import Attendance, PublishedSession
from sessions.places.write import class_lock, place_free, place_give


def attendance_mark(
    *, session: PublishedSession, athlete_id: int, hour: str, by: Account | None, came: bool = True
) -> None:
    """Keep that an athlete came to a class, or take it back; again changes nothing.

    Who comes keeps a place from then on, where there is one. Nobody comes to two classes of one session: the last mark
    moves them. A mark of another class is not taken back. ValidationError, in words for staff, for a class that is not
    there or is still to come.
    """
    if came:
        _refuse(session, hour)
    try:
        with transaction.atomic():
            class_lock(session)  # two who come at once get two places
            changed = _come(session, athlete_id, hour, by) if came else _take_back(session, athlete_id, hour)
            if changed:
                class_moved(session)
    except IntegrityError:
        raise ValidationError("This athlete is gone. Reload the page.") from None


def _come(session: PublishedSession, athlete_id: int, hour: str, by: Account | None) -> bool:
    if _of_class(session, hour).filter(athlete_id=athlete_id).exists():
        return False
    own = {"athlete_id": athlete_id, "session_key": session.class_key, "date": session.date}
    Attendance.objects.bulk_create(
        [Attendance(**own, hour=hour, marked_by=by)],
        update_conflicts=True,
        unique_fields=["athlete", "session_key", "date"],
        update_fields=["hour"],
    )
    place_free(session, athlete_id, hour)
    place_give(session, athlete_id, hour)
    return True


def _take_back(session: PublishedSession, athlete_id: int, hour: str) -> bool:
    gone, _ = _of_class(session, hour).filter(athlete_id=athlete_id).delete()
    if gone:
        place_free(session, athlete_id)
    return bool(gone)


def _of_class(session: PublishedSession, hour: str):
    return Attendance.objects.filter(session_key=session.class_key, date=session.date, hour=hour)


def _refuse(session: PublishedSession, hour: str) -> None:
    if hour not in (session.hours or [""]):
        raise ValidationError("The session has no class at this time any more. Reload the page.")
    if session.date > timezone.localdate():  # in the gym's time, which pages have switched on
        raise ValidationError("This class is still to come. Mark who came on its day.")
