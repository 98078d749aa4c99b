"""Migrations that change rows which exist already, on a real database of the kind in use."""

from datetime import date

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def migrate():
    """Go to a migration and get its models; afterwards everything is as new again."""

    def go(*targets: tuple[str, str]):
        executor = MigrationExecutor(connection)
        executor.migrate(list(targets))
        return MigrationExecutor(connection).loader.project_state(list(targets)).apps

    yield go
    go(*MigrationExecutor(connection).loader.graph.leaf_nodes())


def test_limitations_that_exist_get_keys_of_their_own(migrate):
    old = migrate(("athletes", "0002_gym_priors"))
    ada = old.get_model("athletes", "Athlete").objects.create(name="Ada Stone", board_name="Ada")
    for kind in ("skill", "body"):
        facts = {"athlete": ada, "kind": kind, "starts_on": date(2026, 5, 1)}
        old.get_model("athletes", "Limitation").objects.create(**facts)
    new = migrate(("athletes", "0003_limitation_key"))
    assert len(set(new.get_model("athletes", "Limitation").objects.values_list("key", flat=True))) == 2
