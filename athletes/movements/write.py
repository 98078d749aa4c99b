from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from math import isfinite

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils.text import slugify

from athletes.fields import free_slug
from athletes.models import MachineType, Movement, Rack
from athletes.movements.likeness import Guess, as_of_one, guessed, mended
from athletes.movements.starter import StarterMovement, starter_movements
from athletes.sending import send

FROM_GUESS = ("kind", "engine", "involvement", "setup_s", "seconds_per_repetition", "typical_best", "typical_spread")
FROM_GUESS += ("paced", "needs_skill", "high_eccentric", "introductory")
# What every estimate of a movement, and of its kin, is centred on.
CENTRES = ("kind", "paced", "seconds_per_repetition", "typical_best", "typical_spread", "easier_form_id")


def movement_guess(*, name: str, dose_kind: str) -> Guess:
    """What a movement of this name is likely to be, measured in `dose_kind`. One query."""
    return guessed(name, dose_kind, Movement.objects.filter(archived=False).order_by("name"))


def movement_name(name: str) -> str:
    """As it was typed, with a capital and single blanks: log  hop, Log hop."""
    name = " ".join(name.split())
    return name[:1].upper() + name[1:]


def movement_proposed(*, name: str, dose_kind: str) -> tuple[str, bool, Guess]:
    """The name that a movement would have, as of one; whether slips were put right; what it would be. One query."""
    library = list(Movement.objects.filter(archived=False).order_by("name"))
    right = mended(name, library)
    proposed = movement_name(as_of_one(right, library))
    return proposed, right != name, guessed(proposed, dose_kind, library)


def movement_changed(*, before: Movement, after: Movement) -> None:
    """Have everybody's estimates made anew where what was changed makes them other than those that are stored."""
    if any(getattr(before, name) != getattr(after, name) for name in CENTRES):
        transaction.on_commit(partial(send, "athletes.estimates_refresh"))


def movement_make(*, name: str, dose_kind: str, seconds: float | None = None) -> tuple[Movement, Guess | None]:
    """A movement of this name with values that are likely, so that it can be put into a circuit at once.

    `seconds` are those of one repetition, the guessed ones where it is None. One of the same name is given back
    instead, out of the archive where it lay there, and no guess. ValidationError for a name that cannot be one, or such
    seconds.
    """
    name = movement_name(name)
    if seconds is not None and not isfinite(seconds):
        raise ValidationError("The seconds for one are a number, such as 2.5.")
    if kept := Movement.objects.filter(name__iexact=name).first():
        return movement_archive(movement=kept, archived=False), None
    guess = movement_guess(name=name, dose_kind=dose_kind)
    if seconds is not None:
        guess = replace(guess, seconds_per_repetition=seconds)
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
        return kept, None
    return movement, guess


def movement_archive(*, movement: Movement, archived: bool) -> Movement:
    """Take a movement out of what is offered, or back in; circuits that use it keep it."""
    if movement.archived != archived:
        movement.archived = archived
        movement.save(update_fields=["archived"])
    return movement


def starter_missing() -> list[StarterMovement]:
    """Movements of the starter library that the gym has not, neither under their slug nor by any name. One query."""
    slugs, names = set(), set()
    for movement in Movement.objects.only("slug", "name", "other_names"):
        slugs.add(movement.slug)
        names |= {name.casefold() for name in (movement.name, *movement.also_called)}
    return [
        entry
        for entry in starter_movements()
        if slugify(entry.name) not in slugs and entry.name.casefold() not in names
    ]


@transaction.atomic
def starter_movements_add(*, machines: Mapping[str, MachineType], racks: Mapping[str, Rack]) -> list[StarterMovement]:
    """Add what is missing of the starter library; what the gym has stays as it is. What was added.

    Safe to repeat: the same again adds nothing.
    """
    missing = starter_missing()
    Movement.objects.bulk_create((starter_movement(entry, machines, racks) for entry in missing), ignore_conflicts=True)
    added = {slugify(entry.name): entry for entry in missing}
    rows = {row.slug: row for row in Movement.objects.all()}
    below = []
    for slug, entry in added.items():
        easier = rows.get(slugify(entry.easier)) if entry.easier else None
        if easier and rows[slug].kind == easier.kind and rows[slug].easier_form_id is None:
            rows[slug].easier_form = easier
            below.append(rows[slug])
    Movement.objects.bulk_update(below, ["easier_form"])
    return missing


def starter_movement(
    entry: StarterMovement, machines: Mapping[str, MachineType], racks: Mapping[str, Rack]
) -> Movement:
    """An entry of the starter library as a movement that is not kept yet."""
    return Movement(
        name=entry.name,
        slug=slugify(entry.name),
        other_names=entry.other_names,
        kind=entry.kind,
        engine=entry.engine,
        machine_type=machines.get(entry.machine),
        rack=racks.get(entry.rack),
        involvement=entry.involvement,
        setup_s=entry.setup_s,
        seconds_per_repetition=entry.seconds,
        typical_best=entry.best,
        typical_spread=entry.spread,
        paced=entry.paced,
        needs_skill=entry.needs_skill,
        high_eccentric=entry.high_eccentric,
        introductory=entry.introductory,
        cue_set_up=entry.set_up,
        cue_drive=entry.drive,
        cue_recovery=entry.recovery,
        look_for=entry.look_for,
        caution=entry.caution,
    )
