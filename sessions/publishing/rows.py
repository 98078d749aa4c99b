"""Rows by the ten thousand, below the ORM: one prepared statement, conflicts ignored, so a repeat adds nothing."""

import json
from collections.abc import Iterable

from django.db import connection, models

from sessions.models import PublishedSession, Target
from sessions.targets.compute import Computed


def insert_ignoring_conflicts(model: type[models.Model], fields: list[str], rows: Iterable[tuple]) -> None:
    """Insert `rows` (values in the order of `fields`, ready for the database) into `model`'s table."""
    quote = connection.ops.quote_name
    columns = ", ".join(quote(model._meta.get_field(name).column) for name in fields)
    values = ", ".join(["%s"] * len(fields))
    table = quote(model._meta.db_table)
    statement = f"INSERT INTO {table} ({columns}) VALUES ({values}) ON CONFLICT DO NOTHING"
    with connection.cursor() as cursor:
        cursor.executemany(statement, list(rows))


def insert_targets(session: PublishedSession, found: Iterable[Computed]) -> None:
    """Freeze the targets of a published session; those that are there already stay as they are."""
    fields = ["publication", "session", *Computed._fields]
    frozen = [(session.publication_id, session.pk, *one[:-1], json.dumps(one.detail)) for one in found]
    insert_ignoring_conflicts(Target, fields, frozen)


def copy_targets(session: PublishedSession) -> None:
    """Give a session whose day was over the targets of the earlier revision it is kept from; twice changes nothing."""
    own = {"id", "publication_id", "session_id"}
    columns = ", ".join(field.column for field in Target._meta.concrete_fields if field.column not in own)
    statement = (
        f"INSERT INTO {Target._meta.db_table} (publication_id, session_id, {columns}) "
        f"SELECT %s, %s, {columns} FROM {Target._meta.db_table} WHERE session_id = %s ON CONFLICT DO NOTHING"
    )
    with connection.cursor() as cursor:
        cursor.execute(statement, [session.publication_id, session.pk, session.kept_from_id])
