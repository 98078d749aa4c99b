from collections.abc import Iterable

from django.core.exceptions import ValidationError
from django.db import transaction

from athletes.models import Limitation, Movement
from athletes.selectors.gym import today
from athletes.services.locks import athlete_lock

CONTENT = ("athlete_id", "kind", "patterns", "starts_on", "review_on", "note")


@transaction.atomic
def limitation_create(*, limitation: Limitation, movements: Iterable[Movement] = ()) -> Limitation:
    """Keep a limitation with its single movements; the same again under the same key returns the one that is kept."""
    athlete_lock(limitation.athlete_id)
    if kept := Limitation.objects.filter(key=limitation.key).first():
        return _same_limitation(kept, limitation, movements)
    limitation.full_clean(exclude=["entered_by"])
    limitation.save(force_insert=True)
    limitation.movements.set(movements)
    return limitation


def limitation_end(*, limitation: Limitation) -> Limitation:
    """Let a limitation end today; the row stays, so that it can be seen what applied when."""
    limitation.review_on = max(limitation.starts_on, today())
    limitation.save(update_fields=["review_on", "updated_at"])
    return limitation


def _same_limitation(kept: Limitation, sent: Limitation, movements: Iterable[Movement]) -> Limitation:
    same = all(getattr(kept, name) == getattr(sent, name) for name in CONTENT)
    if not same or set(kept.movements.all()) != set(movements):
        raise ValidationError("Another limitation was kept from this page before. Reload the page and enter this one.")
    return kept
