"""Who must not go all out on a day, and why. A coach may decide otherwise, with a reason; nothing here is a diagnosis,
and licensed care and local rules come first.

Common practice: nobody is tested to the limit in the first four weeks or after a break, while pregnant, on the way back
from an illness, or under age without a coach who answers for it; and who is away is not tested at all.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, timedelta

from athletes import words
from athletes.models import Athlete, Limitation, Override
from athletes.signals import breaks_asked

ADULT_YEARS = 18
FIRST_WEEKS = timedelta(weeks=4)
Caution = Override.Caution


def not_all_out(athletes: Iterable[Athlete], day: date) -> dict[int, str]:
    """By athlete (id) why they should not be tested on a day; who may be is left out. Two queries, and those that tell
    of breaks in the logs.

    Whom a coach released from the caution (`Override`) may be tested.
    """
    athletes = list(athletes)
    ids = [athlete.pk for athlete in athletes]
    kinds = defaultdict(set)
    held = Limitation.objects.filter(athlete__in=ids, kind__in=Limitation.NOT_ALL_OUT, starts_on__lte=day)
    for athlete_id, kind in held.exclude(review_on__lte=day).values_list("athlete_id", "kind"):
        kinds[athlete_id].add(kind)
    released = set(
        Override.objects.filter(athlete__in=ids, starts_on__lte=day, ends_on__gte=day).values_list(
            "athlete_id", "caution"
        )
    )
    back: dict[int, date] = {}
    for _, seen in breaks_asked.send(Athlete, athletes=athletes, day=day):
        back |= seen
    found = {}
    for athlete in athletes:
        if (athlete.pk, Caution.NO_TARGET) not in released:
            if kinds[athlete.pk]:
                found[athlete.pk] = "a limitation rules out going all out"
                continue
            if athlete.born and _years(athlete.born, day) < ADULT_YEARS:
                found[athlete.pk] = f"under {ADULT_YEARS}"
                continue
        leaves = athlete.leave_from is not None and athlete.leave_from <= day
        if leaves and (athlete.leave_until is None or day < athlete.leave_until):
            found[athlete.pk] = f"away until {words.day(athlete.leave_until)}" if athlete.leave_until else "away"
            continue
        returned = (athlete.returned_on, athlete.leave_until if leaves else None, back.get(athlete.pk))
        began = max((d for d in (athlete.joined_on, *returned) if d), default=None)
        if began and day < began + FIRST_WEEKS and (athlete.pk, Caution.RETURN) not in released:
            found[athlete.pk] = "in the first four weeks" if began == athlete.joined_on else "just back after a break"
    return found


def _years(born: date, day: date) -> int:
    return day.year - born.year - ((day.month, day.day) < (born.month, born.day))
