from django.core.exceptions import ValidationError
from django.db import IntegrityError
from django.utils import timezone

from athletes.models import Account
from sessions.models import Attendance, PublishedSession


def attendance_mark(
    *, session: PublishedSession, athlete_id: int, hour: str, by: Account | None, came: bool = True
) -> None:
    """Keep that an athlete came to a class, or take it back; again changes nothing. One query.

    Nobody comes to two classes of one session: the last mark moves them. A mark of another class is not taken back.
    ValidationError, in words for staff, for a class that is not there or is still to come.
    """
    place = {"athlete_id": athlete_id, "session_key": session.key, "date": session.date}
    if not came:
        Attendance.objects.filter(**place, hour=hour).delete()
        return
    _refuse(session, hour)
    try:
        Attendance.objects.bulk_create(
            [Attendance(**place, hour=hour, marked_by=by)],
            update_conflicts=True,
            unique_fields=["athlete", "session_key", "date"],
            update_fields=["hour"],
        )
    except IntegrityError:
        raise ValidationError("This athlete is gone. Reload the page.") from None


def _refuse(session: PublishedSession, hour: str) -> None:
    if hour not in (session.hours or [""]):
        raise ValidationError("The session has no class at this time any more. Reload the page.")
    if session.date > timezone.localdate():  # in the gym's time, which pages have switched on
        raise ValidationError("This class is still to come. Mark who came on its day.")
