import re

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from athletes.fields import free_slug
from athletes.models import Movement
from athletes.movements.likeness import Guess, guessed

FROM_GUESS = ("kind", "engine", "involvement", "setup_s", "seconds_per_repetition", "typical_best", "typical_spread")
FROM_GUESS += ("paced", "needs_skill", "high_eccentric", "introductory")


def movement_guess(*, name: str, dose_kind: str) -> Guess:
    """What a movement of this name is likely to be, measured in `dose_kind`. One query."""
    return guessed(name, dose_kind, Movement.objects.filter(archived=False).order_by("name"))


def movement_make(*, name: str, dose_kind: str) -> tuple[Movement, Guess]:
    """A movement of this name with values that are likely, so that it can be put into a circuit at once.

    One of the same name is given back instead, out of the archive where it lay there. ValidationError for a name that
    cannot be one.
    """
    name = re.sub(r"(?<=[^\Ws]{3})s$", "", " ".join(name.split()))  # as of one: log hops, Log hop
    name = name[:1].upper() + name[1:]
    guess = movement_guess(name=name, dose_kind=dose_kind)
    if kept := Movement.objects.filter(name__iexact=name).first():
        return movement_archive(movement=kept, archived=False), guess
    movement = Movement(
        name=name, slug=free_slug(Movement, name), **{field: getattr(guess, field) for field in FROM_GUESS}
    )
    movement.full_clean(validate_unique=False)
    try:
        with transaction.atomic():
            movement.save(force_insert=True)
    except IntegrityError:  # the same request in the same moment came first
        kept = Movement.objects.filter(name__iexact=name).first()
        if kept is None:
            raise ValidationError("This movement could not be made. Make it on the page Movements.") from None
        return kept, guess
    return movement, guess


def movement_archive(*, movement: Movement, archived: bool) -> Movement:
    """Take a movement out of what is offered, or back in; circuits that use it keep it."""
    if movement.archived != archived:
        movement.archived = archived
        movement.save(update_fields=["archived"])
    return movement
