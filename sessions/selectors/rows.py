"""Rows by the ten thousand, below the ORM: one prepared statement, conflicts ignored, so a repeat adds nothing."""

from collections.abc import Iterable

from django.db import connection, models


def insert_ignoring_conflicts(model: type[models.Model], fields: list[str], rows: Iterable[tuple]) -> None:
    """Insert `rows` (values in the order of `fields`, ready for the database) into `model`'s table."""
    quote = connection.ops.quote_name
    columns = ", ".join(quote(model._meta.get_field(name).column) for name in fields)
    values = ", ".join(["%s"] * len(fields))
    table = quote(model._meta.db_table)
    statement = f"INSERT INTO {table} ({columns}) VALUES ({values}) ON CONFLICT DO NOTHING"
    with connection.cursor() as cursor:
        cursor.executemany(statement, list(rows))
