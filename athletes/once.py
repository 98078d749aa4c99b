"""Rows that carry a key made by the client: what is sent twice is kept once."""

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Model

BY_WHOM = ("entered_by", "made_by")  # nobody, when a program does it


def kept_before(row: Model, content: tuple[str, ...]) -> Model | None:
    """The row that was kept under this key before; ValidationError when its `content` is not that of `row`."""
    kept = type(row).objects.filter(key=row.key).first()
    if kept and any(getattr(kept, name) != getattr(row, name) for name in content):
        raise ValidationError("Something else was kept from this page before. Reload the page and enter this there.")
    return kept


def insert_once(row: Model, content: tuple[str, ...]) -> Model:
    """Check `row` and insert it, or return what another sending under its key put in at this very moment."""
    row.full_clean(exclude=BY_WHOM, validate_unique=False)  # the key is all that is unique, and the insert tells
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except IntegrityError:
        kept = kept_before(row, content)
        if kept is None:
            raise
        return kept
    return row
