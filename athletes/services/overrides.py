"""A caution set aside for one athlete: who did it, why and until when stays on record."""

from datetime import date, timedelta
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction

from athletes.models import Account, Athlete, Movement, Override
from athletes.selectors.gym import today
from athletes.services.locks import athlete_lock
from athletes.services.once import insert_once, kept_before

LONGEST = timedelta(days=28)  # as long as the cautions themselves look back (ours)
CONTENT = ("athlete_id", "caution", "movement_id", "starts_on", "ends_on", "reason")


@transaction.atomic
def override_make(
    *,
    athlete: Athlete,
    caution: str,
    movement: Movement | None,
    starts_on: date,
    ends_on: date,
    reason: str,
    by: Account | None,
    key: UUID,
) -> Override:
    """Set a computed caution (Override.Caution) aside from the first to the last day, both included.

    Of the amount of a new movement: for `movement`, or for all where it is None. The same again under the same `key`
    returns the override that is kept. Raises ValidationError, by field.
    """
    athlete_lock(athlete.pk)
    override = Override(
        key=key,
        athlete=athlete,
        caution=caution,
        movement=movement,
        starts_on=starts_on,
        ends_on=ends_on,
        reason=reason.strip(),
        made_by=by,
    )
    if kept := kept_before(override, CONTENT):
        return kept
    _refuse(override)
    return insert_once(override, CONTENT)


def override_end(*, override: Override) -> Override:
    """Let the caution hold again from tomorrow; the row stays. Ending twice, or what is over, changes nothing."""
    override.ends_on = min(override.ends_on, max(override.starts_on, today()))
    override.save(update_fields=["ends_on", "updated_at"])
    return override


def _refuse(override: Override) -> None:
    if not override.reason:
        raise ValidationError({"reason": "Say in a few words why it does not apply to this athlete."})
    if override.movement and override.caution != Override.Caution.EXPOSURE:
        raise ValidationError({"movement": "A return after a break is not of one movement. Leave this empty."})
    if override.ends_on < override.starts_on:
        raise ValidationError({"ends_on": "The last day does not come before the first. Choose a later day."})
    if override.ends_on - override.starts_on > LONGEST:
        raise ValidationError({"ends_on": f"At most {LONGEST.days} days ahead. Choose an earlier day."})
