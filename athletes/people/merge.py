"""Two athletes who are one: everything of the second goes to the first, and back again within a day."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, timedelta

from django.core.exceptions import ValidationError
from django.db import IntegrityError, models, transaction
from django.utils import timezone

from athletes.estimates.write import estimates_refresh
from athletes.importing.batch import free_board_name
from athletes.importing.sheets.rows import Person
from athletes.locks import athletes_lock
from athletes.models import Account, Athlete, Estimate, Merge
from athletes.signals import room_changed

UNDONE_WITHIN = timedelta(days=1)
FACTS = ("born", "sex", "body_mass_kg", "joined_on", "returned_on")
STAYS = (Athlete, Estimate, Merge)  # estimates are made anew


@transaction.atomic
def athletes_merge(*, keep: Athlete, gone: Athlete, by: Account | None) -> Merge:
    """Move efforts, logs, targets and whatever else rests on `gone` to `keep`, and fill in facts that `keep` lacks.

    What both have and only one can (a target of the same class) stays with `gone`, who is seen nowhere from then on;
    the name goes on being known to imports. ValidationError for one and the same, and for who is merged already.
    """
    athletes_lock([keep.pk, gone.pk])
    keep, gone = (Athlete.everyone.get(pk=one.pk) for one in (keep, gone))
    if keep == gone:
        raise ValidationError("That is the same athlete. Choose the other one.")
    if keep.merged_into_id or gone.merged_into_id:
        raise ValidationError("One of the two is merged already. Look at the list again.")
    moved = {_label(relation): ids for relation in _relations() if (ids := _move(relation, gone, keep))}
    filled = {}
    for name in FACTS:
        if getattr(keep, name) in (None, "") and getattr(gone, name) not in (None, ""):
            filled[name] = [_text(getattr(keep, name)), _text(getattr(gone, name))]
            setattr(keep, name, getattr(gone, name))
    if gone.note and gone.note not in keep.note:
        filled["note"] = [keep.note, "\n".join(filter(None, [keep.note, gone.note]))]
        keep.note = filled["note"][1]
    was = {"board_name": gone.board_name, "active": gone.active, "keep_active": keep.active}
    was["others"] = list(Athlete.everyone.filter(merged_into=gone).values_list("pk", flat=True))
    gone.board_name, gone.active, gone.merged_into = f"={gone.pk}", False, keep
    keep.active = keep.active or was["active"]
    gone.save()
    keep.save()
    Athlete.everyone.filter(merged_into=gone).update(merged_into=keep)
    merge = Merge.objects.create(keep=keep, gone=gone, moved=moved, filled=filled, was=was, by=by)
    estimates_refresh(athletes=[keep.pk])
    room_changed.send(Athlete)
    return merge


@transaction.atomic
def merge_undo(*, merge: Merge, by: Account | None) -> None:
    """Everything goes back that went over and is still there. Undone twice is undone once; after a day
    ValidationError."""
    merge = Merge.objects.select_for_update().get(pk=merge.pk)
    if merge.undone_at:
        return
    if timezone.now() > merge.made_at + UNDONE_WITHIN:
        raise ValidationError("This was merged more than a day ago, and stays so. Void or move single results instead.")
    athletes_lock([merge.keep_id, merge.gone_id])
    keep, gone = (Athlete.everyone.get(pk=pk) for pk in (merge.keep_id, merge.gone_id))
    for relation in _relations():
        if ids := merge.moved.get(_label(relation)):
            _move(relation, keep, gone, ids)
    for name, (before, after) in merge.filled.items():
        if _text(getattr(keep, name)) == after:
            setattr(keep, name, keep._meta.get_field(name).to_python(before) if before else _empty(keep, name))
    taken = {name.lower() for name in Athlete.everyone.values_list("board_name", flat=True)}
    gone.board_name = free_board_name(Person(gone.name, merge.was["board_name"]), taken)
    gone.active, gone.merged_into = merge.was["active"], None
    keep.active = keep.active and merge.was["keep_active"]  # who has left since stays so
    gone.save()
    keep.save()
    Athlete.everyone.filter(pk__in=merge.was.get("others", []), merged_into=keep).update(merged_into=gone)
    Merge.objects.filter(pk=merge.pk).update(undone_at=timezone.now(), undone_by=by)
    estimates_refresh(athletes=[keep.pk, gone.pk])
    room_changed.send(Athlete)


def merge_to_undo(athlete: Athlete) -> Merge | None:
    """The latest merge into an athlete that can still be undone; one query."""
    fresh = Merge.objects.filter(keep=athlete, undone_at=None, made_at__gt=timezone.now() - UNDONE_WITHIN)
    return fresh.select_related("gone", "by").first()


def counts_of(athletes: list[Athlete]) -> dict[int, dict[str, int]]:
    """What rests on each athlete, in words: efforts, logs, targets. One query for each kind."""
    shown = {
        "effort": ("effort", "efforts"),
        "log": ("log", "logs"),
        "target": ("target", "targets"),
        "attendance": ("class", "classes"),
        "limitation": ("limitation", "limitations"),
    }
    found: dict[int, dict[str, int]] = defaultdict(dict)
    for relation in _relations():
        if words := shown.get(relation.related_model._meta.model_name):
            name = relation.field.name
            rows = relation.related_model._base_manager.filter(**{f"{name}__in": athletes}).order_by()
            for pk, count in rows.values_list(name).annotate(models.Count("pk")):
                found[pk][words[count != 1]] = count
    return found


def _relations() -> Iterator[models.ManyToOneRel]:
    """Whatever points at an athlete and moves."""
    return (r for r in Athlete._meta.related_objects if r.related_model not in STAYS)


def _label(relation: models.ManyToOneRel) -> str:
    return f"{relation.related_model._meta.label}.{relation.field.name}"


def _move(relation: models.ManyToOneRel, of: Athlete, to: Athlete, ids: list[int] | None = None) -> list[int]:
    """Let rows point at `to`, all at once, or one by one where some cannot; ids of those that do."""
    name = relation.field.name
    rows = relation.related_model._base_manager.filter(**{name: of})
    rows = rows if ids is None else rows.filter(pk__in=ids)
    found = list(rows.order_by("pk").values_list("pk", flat=True))
    try:
        with transaction.atomic():
            rows.update(**{name: to})
        return found
    except IntegrityError:
        return [pk for pk in found if _moved(relation, pk, to)]


def _moved(relation: models.ManyToOneRel, pk: int, to: Athlete) -> bool:
    try:
        with transaction.atomic():
            relation.related_model._base_manager.filter(pk=pk).update(**{relation.field.name: to})
    except IntegrityError:
        return False
    return True


def _text(value: object) -> str:
    return value.isoformat() if isinstance(value, date) else "" if value is None else str(value)


def _empty(athlete: Athlete, name: str) -> None | str:
    return None if athlete._meta.get_field(name).null else ""
