"""Two requests at the same moment, each on its own connection: the second finds what the first did."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import connection

from athletes.efforts.write import effort_record
from athletes.equipment.write import machine_add
from athletes.estimates.write import estimates_refresh
from athletes.gym.read import today
from athletes.links.write import link_issue, links_issue_missing, screen_link_issue
from athletes.models import Athlete, Benchmark, Effort, Estimate, Limitation, Link, MachineType
from athletes.people.write import limitation_create
from tests import gym
from tests.conftest import client_of

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]
AT_ONCE = 4


def at_once(*calls) -> list:
    """What each call returned or raised, all begun at the same moment."""
    start = Barrier(len(calls))

    def run(call):
        connection.ensure_connection()
        start.wait()
        try:
            return call()
        except Exception as error:
            return error
        finally:
            connection.close()

    with ThreadPoolExecutor(len(calls)) as pool:
        return list(pool.map(run, calls))


@pytest.fixture
def athletes(transactional_db):
    gym.furnish()
    return gym.people(AT_ONCE, tested=False)


@pytest.fixture
def row(athletes) -> dict:
    benchmark = Benchmark.objects.get(slug="2000-m-row")
    return {"benchmark": benchmark, "typed": "8:05", "performed_on": today(), "by": None, "confirmed": True}


def test_the_same_effort_sent_at_once_is_kept_once(athletes, row):
    key = uuid4()
    kept = at_once(*[lambda: effort_record(athlete=athletes[0], key=key, **row)] * AT_ONCE)
    assert kept == [Effort.objects.get()] * AT_ONCE


def test_one_key_for_several_athletes_keeps_one_and_refuses_the_others_in_words(athletes, row):
    key = uuid4()
    kept = at_once(*[lambda athlete=athlete: effort_record(athlete=athlete, key=key, **row) for athlete in athletes])
    assert sum(isinstance(answer, Effort) for answer in kept) == 1
    assert sum(isinstance(answer, ValidationError) for answer in kept) == AT_ONCE - 1
    assert Effort.objects.count() == 1


def test_several_efforts_of_one_athlete_at_once_are_all_kept(athletes, row):
    days = [{**row, "performed_on": today() - timedelta(days=n)} for n in range(AT_ONCE)]
    at_once(*[lambda sent=sent: effort_record(athlete=athletes[0], **sent) for sent in days])
    assert Effort.objects.count() == AT_ONCE
    assert len(Estimate.objects.get(engine="row").efforts) == AT_ONCE


def test_the_nightly_refresh_forgets_no_effort_that_comes_meanwhile(athletes, row):
    for n in range(3):
        sent = {**row, "performed_on": today() - timedelta(days=n)}
        kept, count = at_once(lambda sent=sent: effort_record(athlete=athletes[0], **sent), estimates_refresh)
        assert isinstance(kept, Effort)
        assert count == AT_ONCE
        assert len(Estimate.objects.get(athlete=athletes[0], engine="row").efforts) == n + 1


def test_one_effort_corrected_twice_at_once_is_corrected_once(athletes, row):
    wrong = effort_record(athlete=athletes[0], **row)
    calls = [
        lambda typed=typed: effort_record(athlete=athletes[0], replaces=wrong, **{**row, "typed": typed})
        for typed in ("8:01", "8:02")
    ]
    assert {type(answer) for answer in at_once(*calls)} == {Effort, ValidationError}
    assert Effort.objects.standing().count() == 1


def test_clicks_at_once_leave_one_link(athletes):
    links = at_once(*[lambda: link_issue(athlete=athletes[0], by=None)] * AT_ONCE)
    assert all(isinstance(link, Link) for link in links)
    assert Link.objects.get(revoked_at=None) in links


def test_the_first_links_made_twice_at_once_are_one_each(athletes):
    assert at_once(*[lambda: links_issue_missing(by=None)] * 2)
    assert Link.objects.filter(revoked_at=None).count() == AT_ONCE


@pytest.mark.parametrize("before", [False, True])
def test_clicks_at_once_leave_one_screen_link(transactional_db, before):
    if before:
        screen_link_issue(by=None)
    links = at_once(*[lambda: screen_link_issue(by=None)] * AT_ONCE)
    assert all(isinstance(link, Link) for link in links)
    assert Link.objects.get(revoked_at=None) in links


def test_the_same_limitation_sent_at_once_is_kept_once(athletes):
    facts = {"athlete": athletes[0], "kind": "body", "patterns": ["pull"], "starts_on": today(), "key": uuid4()}
    kept = at_once(*[lambda: limitation_create(limitation=Limitation(**facts))] * AT_ONCE)
    assert kept == [Limitation.objects.get()] * AT_ONCE


def test_the_same_machine_added_at_once_is_one(athletes):
    rower = MachineType.objects.get(engine="row")
    added = at_once(*[lambda: machine_add(type=rower, number=3)] * AT_ONCE)
    assert {machine.number for machine in added} == {3}
    assert rower.machines.count() == 3


def test_the_same_newcomer_sent_at_once_is_added_once(transactional_db, staff):
    sent = {"name": "Ada Stone", "sex": "", "load_unit": "kg", "active": "on", "key": str(uuid4())}

    def send():
        return client_of(staff).post("/athletes/new/", sent)

    answers = at_once(*[send] * 5)
    ada = Athlete.objects.get()
    assert [answer["Location"] for answer in answers] == [f"/athletes/{ada.pk}/"] * 5
    assert ada.links.count() == 1
    other = client_of(staff).post("/athletes/new/", {**sent, "name": "Bob Hill"})  # the same page, somebody else
    assert "Something else was kept from this page before." in other.content.decode()
    assert Athlete.objects.count() == 1
    other = client_of(staff).post("/athletes/new/", {**sent, "key": str(uuid4())})  # another page: asks who that is
    assert "Someone else has this name on the board" in other.content.decode()
