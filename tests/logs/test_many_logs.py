"""Phones send what they hold again and again, in any order: what is kept is each log once."""

import os
from datetime import UTC, datetime, timedelta
from random import Random
from uuid import UUID

import pytest
from django.test import Client

from athletes.links.write import link_issue
from athletes.models import Athlete
from sessions.logs.write import log_write
from sessions.models import Log, LogEntry
from tests import gym
from tests.conftest import publish

ATHLETES, EACH = 10, 50
# Once is enough of the many; the second database shows that it keeps the same rules.
SENT = 2_000 if os.environ.get("COACHHUB_TEST_SERVICES") else 10_000
BEGAN = datetime(2026, 11, 25, 8, tzinfo=UTC)


@pytest.fixture
def sessions(furnished, coach) -> list:
    gym.people(ATHLETES)
    return list(publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 5), coach).sessions.all())


@pytest.fixture
def logs(sessions) -> list[tuple]:
    """(athlete, session, what is said): fifty of each athlete, over five sessions, each a minute later."""
    random = Random(7)
    doses = {
        (athlete.pk, session.pk): session.targets.get(athlete=athlete, station=1).dose
        for athlete in Athlete.objects.all()
        for session in sessions
    }
    return [
        (athlete, session := sessions[n % 5], _said(random, n, doses[athlete.pk, session.pk]))
        for athlete in Athlete.objects.all()
        for n in range(EACH)
    ]


def _said(random: Random, n: int, dose: float) -> dict:
    return {
        "key": UUID(int=random.getrandbits(128), version=4),
        "done_at": BEGAN + timedelta(minutes=n),
        "rpe": float(n % 11),
        "pain": False,
        "stopped": False,
        "note": "",
        "entries": [{"station": 1, "rounds": n % 6, "dose": dose}],
    }


def kept() -> set:
    return set(Log.objects.values_list("key", "athlete_id", "session_key", "rpe", "done_at"))


def as_sent(logs) -> set:
    return {
        (content["key"], athlete.pk, session.key, content["rpe"], content["done_at"])
        for athlete, session, content in logs
    }


def test_thousands_of_submissions_again_and_out_of_order_leave_the_distinct_ones(logs):
    sent = logs * (SENT // len(logs))
    Random(11).shuffle(sent)
    for athlete, session, content in sent:
        log_write(athlete=athlete, session=session, content=content, source="phone")
    assert len(sent) == SENT
    assert kept() == as_sent(logs)
    assert LogEntry.objects.count() == len(logs)
    standing = Log.objects.filter(replaced=False).values_list("athlete_id", "session_key", "done_at")
    latest = {}
    for athlete, session, content in logs:
        place = athlete.pk, session.key
        latest[place] = max(latest.get(place, BEGAN), content["done_at"])
    assert {(athlete, key): moment for athlete, key, moment in standing} == latest


def test_the_same_through_the_api_as_phones_send_it(logs):
    logs = logs[: 3 * EACH]
    tokens = {athlete.pk: link_issue(athlete=athlete, by=None).token for athlete, _, _ in logs[::EACH]}
    sent = logs * 2
    Random(13).shuffle(sent)
    phone = Client()
    for athlete, session, content in sent:
        body = {**content, "session_key": session.key, "date": session.date}
        link = {"Authorization": f"Link {tokens[athlete.pk]}"}
        assert phone.post("/api/v1/my/logs/", body, "application/json", headers=link).status_code == 201
    assert kept() == as_sent(logs)
