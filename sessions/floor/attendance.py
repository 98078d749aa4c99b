from itertools import count

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from athletes.models import Account
from sessions.models import Attendance, PublishedSession


def attendance_mark(
    *, session: PublishedSession, athlete_id: int, hour: str, by: Account | None, came: bool = True
) -> None:
    """Keep that an athlete came to a class, or take it back; again changes nothing.

    Who comes gets the first free place of the class and keeps it. Nobody comes to two classes of one session: the last
    mark moves them. A mark of another class is not taken back. ValidationError, in words for staff, for a class that is
    not there or is still to come.
    """
    if not came:
        _of_class(session, hour).filter(athlete_id=athlete_id).delete()
        return
    _refuse(session, hour)
    try:
        _come(session, athlete_id, hour, by)
    except IntegrityError:
        raise ValidationError("This athlete is gone. Reload the page.") from None


@transaction.atomic
def _come(session: PublishedSession, athlete_id: int, hour: str, by: Account | None) -> None:
    PublishedSession.objects.select_for_update().get(pk=session.pk)  # two who come at once get two places
    places = dict(_of_class(session, hour).values_list("athlete_id", "place"))
    if athlete_id in places:
        return
    place = next(n for n in count() if n not in places.values())
    own = {"athlete_id": athlete_id, "session_key": session.class_key, "date": session.date}
    Attendance.objects.bulk_create(
        [Attendance(**own, hour=hour, place=place, marked_by=by)],
        update_conflicts=True,
        unique_fields=["athlete", "session_key", "date"],
        update_fields=["hour", "place"],
    )


def _of_class(session: PublishedSession, hour: str):
    return Attendance.objects.filter(session_key=session.class_key, date=session.date, hour=hour)


def _refuse(session: PublishedSession, hour: str) -> None:
    if hour not in (session.hours or [""]):
        raise ValidationError("The session has no class at this time any more. Reload the page.")
    if session.date > timezone.localdate():  # in the gym's time, which pages have switched on
        raise ValidationError("This class is still to come. Mark who came on its day.")
