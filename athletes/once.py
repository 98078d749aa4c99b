"""Rows that carry a key made by the client: what is sent twice is kept once."""

from collections.abc import Callable

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Model

BY_WHOM = ("entered_by", "made_by")  # nobody, when a program does it
KEPT_ELSE = "Something else was kept from this page before. Reload the page and enter this there."


def keep_once(row: Model, write: Callable[[], Model], same: Callable[[Model], Model]) -> Model:
    """What `write` makes of `row`; or `same` of what is there under its key, from before or from this very moment."""
    kept = _kept(row)
    return same(kept) if kept else _write_once(row, write, same)


def kept_before(row: Model, content: tuple[str, ...]) -> Model | None:
    """The row that was kept under this key before; ValidationError when its `content` is not that of `row`."""
    kept = _kept(row)
    return kept and _same(kept, row, content)


def insert_once(row: Model, content: tuple[str, ...]) -> Model:
    """Check `row` and insert it, or return what another sending under its key put in at this very moment."""
    row.full_clean(exclude=BY_WHOM, validate_unique=False)  # the key is all that is unique, and the insert tells

    def write() -> Model:
        row.save(force_insert=True)
        return row

    return _write_once(row, write, lambda kept: _same(kept, row, content))


def _kept(row: Model) -> Model | None:
    return type(row)._base_manager.filter(key=row.key).first()  # whoever was found to be another too


def _write_once(row: Model, write: Callable[[], Model], same: Callable[[Model], Model]) -> Model:
    try:
        with transaction.atomic():
            return write()
    except IntegrityError:
        if kept := _kept(row):
            return same(kept)
        raise


def _same(kept: Model, row: Model, content: tuple[str, ...]) -> Model:
    if any(getattr(kept, name) != getattr(row, name) for name in content):
        raise ValidationError(KEPT_ELSE)
    return kept
