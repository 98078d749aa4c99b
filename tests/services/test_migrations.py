"""Migrations that change rows which exist already, on a real database of the kind in use."""

from datetime import date
from uuid import uuid4

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


def test_an_upgrade_to_method_4_keeps_what_was_done_the_headroom_and_knows_movements(migrate):
    old = migrate(("athletes", "0006_imports"))
    ada = old.get_model("athletes", "Athlete").objects.create(name="Ada Stone", board_name="Ada")
    old.get_model("athletes", "Gym").objects.create(pk=1, name="Mill", headroom=0.3)
    of = old.get_model("athletes", "Movement").objects
    ids = {slug: of.create(name=slug, slug=slug, kind="repetitions").pk for slug in ("box-jump", "box-step-up")}
    of.create(name="burpee", slug="burpee", kind="hold")
    facts = {"athlete": ada, "performed_on": date(2026, 5, 1), "method_version": "3", "sd_log": 0.3}
    evidence = old.get_model("athletes", "Evidence").objects
    evidence.create(source=uuid4(), station=1, engine="row", value=200, duration_s=60, **facts)
    evidence.create(source=uuid4(), station=2, movement_id=ids["box-jump"], value=30, **facts)
    new = migrate(("athletes", "0007_method_4"))
    kept = new.get_model("athletes", "Evidence").objects
    assert set(kept.values_list("engine", "movement", "step", "value", "duration_s", "sd_log")) == {
        ("row", None, 0, None, None, None),
        ("", ids["box-jump"], 0, None, None, None),
    }
    gym = new.get_model("athletes", "Gym").objects.get()
    assert (gym.headroom_test, gym.headroom_hard, gym.headroom_steady, gym.headroom_easy) == (0, 0.3, 0.35, 0.45)
    movements = new.get_model("athletes", "Movement").objects.in_bulk(field_name="slug")
    jump, burpee = movements["box-jump"], movements["burpee"]
    assert (jump.paced, jump.needs_skill, jump.easier_form_id) == (True, True, ids["box-step-up"])
    assert movements["box-step-up"].paced
    assert not burpee.paced
