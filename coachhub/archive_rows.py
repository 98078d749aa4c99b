"""A row of a table as a line of JSON and back, the same whichever database it comes from or goes to."""

import json
from collections.abc import Iterable, Sequence
from datetime import date, datetime, time
from uuid import UUID

from django.core.management.color import no_style
from django.db import connection, models


def row_as_json(fields: Sequence[models.Field], values: Sequence) -> bytes:
    """A line for a row, by the fields' own names; floats keep all their digits."""
    named = {field.attname: value for field, value in zip(fields, values, strict=True)}
    return (json.dumps(named, ensure_ascii=False, allow_nan=False, default=_plain) + "\n").encode()


def values_of(model: type[models.Model], row: dict) -> tuple:
    """A row's values as this database takes them, in the order of the model's fields.

    What the row does not have yet, because it is older than the field, gets the field's default. ValueError, in words,
    for a field without one, and for something that no field here takes.
    """
    fields = model._meta.concrete_fields
    if unknown := row.keys() - {field.attname for field in fields}:
        raise ValueError(f"{model._meta.label} has no {', '.join(sorted(unknown))} here.")
    return tuple(_for_database(field, row) for field in fields)


def insert(model: type[models.Model], rows: Iterable[dict]) -> None:
    """Put rows into an empty table as they were: ids, and moments that a form would set, too."""
    quote, meta = connection.ops.quote_name, model._meta
    columns = ", ".join(quote(field.column) for field in meta.concrete_fields)
    places = ", ".join(["%s"] * len(meta.concrete_fields))
    with connection.cursor() as cursor:
        cursor.executemany(
            f"INSERT INTO {quote(meta.db_table)} ({columns}) VALUES ({places})",
            [values_of(model, row) for row in rows],
        )


def reset_sequences(found: list[type[models.Model]]) -> None:
    """Let new rows get ids above those that were put in."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), found):
            cursor.execute(statement)


def _for_database(field: models.Field, row: dict):
    if field.attname in row:
        value = field.to_python(row[field.attname])
    elif field.has_default() or field.null or field.empty_strings_allowed:
        value = field.get_default()
    else:
        raise ValueError(f"{field.model._meta.label} needs {field.attname}, which the archive does not have.")
    return field.get_db_prep_save(value, connection)


def _plain(value) -> str:
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, UUID):
        return str(value)
    raise TypeError(f"{value!r} has no place in an archive.")
