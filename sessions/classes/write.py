from uuid import UUID, uuid4

from django.core.exceptions import ValidationError
from django.db import transaction

from athletes.models import Account
from sessions.classes.definition import MAIN
from sessions.models import Part, PartTemplate, PlannedSession

WRITTEN = ("kind", "minutes", "words", "circuit")
MOST_PARTS = 12


@transaction.atomic
def parts_write(*, of: PlannedSession | PartTemplate, parts: list[dict]) -> None:
    """Write the parts of a class, in order, in place of those that are there; an empty list leaves its circuit alone.

    A part is {"kind", "minutes", "words", "circuit"}, and the `key` of the one that it was before, so that what was set
    by hand in it stays. ValidationError, in words for the coach, unless exactly one of several is the main circuit.
    """
    _check(parts)
    known = {part.key: part for part in of.parts.all()}
    new_keys = {part["key"] for part in parts if part.get("key")} - set(known)
    if Part.objects.filter(key__in=new_keys).exists():
        raise ValidationError("A part with this key belongs to another class. Leave the key out to make a new one.")
    kept = []
    for position, written in enumerate(parts):
        part = known.pop(written.get("key"), None) or Part(key=written.get("key") or uuid4(), **_owner(of))
        part.position = position
        for name in WRITTEN:
            setattr(part, name, written.get(name) or ("" if name == "words" else None))
        kept.append(part)
    of.parts.filter(pk__in=[part.pk for part in known.values()]).delete()
    for part in sorted(kept, key=lambda part: part.kind == MAIN):  # there is one at any moment
        part.save()


def parts_copy(*, source: PlannedSession | PartTemplate, into: PlannedSession | PartTemplate) -> dict[UUID, UUID]:
    """Give a class or a template the parts of another one in place of its own; the new keys by the old ones."""
    keys = {part.key: uuid4() for part in source.parts.all()}
    copies = [{"key": keys[part.key], **{name: getattr(part, name) for name in WRITTEN}} for part in source.parts.all()]
    parts_write(of=into, parts=copies)
    return keys


@transaction.atomic
def template_save(*, name: str, parts: list[dict], by: Account | None) -> PartTemplate:
    """Keep parts under a name; a template of that name is written over."""
    _check(parts)
    if not parts:
        raise ValidationError("There are no parts to keep yet. Add one first.")
    template, _ = PartTemplate.objects.get_or_create(name=name.strip(), defaults={"created_by": by})
    parts_write(of=template, parts=[{**part, "key": None} for part in parts])
    return template


def _owner(of: PlannedSession | PartTemplate) -> dict:
    return {"session": of} if isinstance(of, PlannedSession) else {"template": of}


def _check(parts: list[dict]) -> None:
    if len(parts) > MOST_PARTS:
        raise ValidationError(f"A class has at most {MOST_PARTS} parts. Put some together.")
    if parts and sum(part["kind"] == MAIN for part in parts) != 1:
        raise ValidationError("A class has one main circuit. Give any other a part of its own kind, such as strength.")
    for part in parts:
        if part["kind"] != MAIN and not part.get("minutes") and not part.get("circuit"):
            raise ValidationError("Say how many minutes each part takes.")
        if part["kind"] == MAIN and (part.get("minutes") or part.get("circuit")):
            raise ValidationError("The main circuit is the session's own, and takes the minutes that it lasts.")
