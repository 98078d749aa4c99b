"""What browser tests begin with: made once in each process, then copied, row by row and file by file.

The rows name the coach, who therefore always has the same number (see conftest).
"""

from datetime import time, timedelta

from django.core.management.color import no_style
from django.db import connection, transaction

from athletes.models import Account, AuditEntry, SignIn
from sessions.classes.write import parts_write
from tests import gym
from tests.conftest import publish

# Who is signed in and what they read, and what a flush puts back itself, are no part of a beginning.
APART = {"django_migrations", "django_session", "django_content_type", "auth_permission"}
APART |= {model._meta.db_table for model in (Account, AuditEntry, SignIn)}


def this_week_for_four(coach: Account) -> None:
    """A session on every day of this week."""
    gym.people(4)
    publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)


def this_week_in_parts(coach: Account) -> None:
    """A class of five parts on every day of this week, strength with a circuit of its own."""
    gym.people(4)
    week = gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7)
    own = gym.circuit(gym.SQUATS)
    for planned in week.sessions.all():
        parts_write(of=planned, parts=gym.class_parts(own))
    publish(week, coach)


def this_week_for_time(coach: Account) -> None:
    """A piece for time on every day of this week."""
    gym.people(4)
    publish(gym.planned_week(gym.this_monday(), *[gym.circuit(gym.FOR_TIME)] * 7), coach)


def last_week_and_this_for_two(coach: Account) -> None:
    _two_weeks(coach, gym.this_monday() - timedelta(days=7))


def this_week_and_next_for_two(coach: Account) -> None:
    _two_weeks(coach, gym.this_monday())


def _two_weeks(coach: Account, first) -> None:
    gym.people(2)
    circuit = gym.circuit()
    for monday in (first, first + timedelta(days=7)):
        publish(gym.planned_week(monday, *[circuit] * 7), coach, day=monday)


def rows_now() -> dict[str, list[tuple]]:
    """All rows of all tables, as the database has them."""
    found = {}
    with connection.cursor() as cursor:
        for table in set(connection.introspection.django_table_names(only_existing=True)) - APART:
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            if rows := cursor.fetchall():  # of all that is kept, SQLite reads times only as text
                found[table] = [tuple(str(v) if isinstance(v, time) else v for v in row) for row in rows]
    return found


@transaction.atomic  # which row refers to which is looked at in the end
def put_back(kept: dict[str, list[tuple]]) -> None:
    with connection.cursor() as cursor:
        for table, rows in kept.items():
            places = ", ".join(["%s"] * len(rows[0]))
            cursor.executemany(f"INSERT INTO {connection.ops.quote_name(table)} VALUES ({places})", rows)
        models = connection.introspection.installed_models(kept)
        for statement in connection.ops.sequence_reset_sql(no_style(), list(models)):
            cursor.execute(statement)
