"""Coaches who press in the same moment, each on a connection of their own: one run, and every press once."""

import time
from uuid import uuid4

import pytest

from athletes.gym.read import today
from sessions.clock.write import run_change, run_start
from sessions.models import ClassRun, RunChange
from tests import gym
from tests.conftest import publish
from tests.services.test_races import AT_ONCE, at_once

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def session(transactional_db, coach):
    gym.furnish()
    gym.people(1)
    week = publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)
    return week.sessions.get(date=today())


def now_ms() -> int:
    return time.time_ns() // 1_000_000


def start(session, key=None):
    return run_start(session=session, hour="06:00", key=key or uuid4(), by=None, at_ms=now_ms())


def test_coaches_who_start_a_class_at_once_start_one(session):
    runs = at_once(*[lambda: start(session)] * AT_ONCE)
    assert runs == [ClassRun.objects.get()] * AT_ONCE


def test_a_class_that_is_over_is_started_again_once(session):
    first = start(session)
    run_change(run=first, key=uuid4(), kind="end", at_ms=now_ms(), by=None)
    time.sleep(0.01)  # a press in the very millisecond of the end would find it running
    runs = at_once(*[lambda: start(session)] * AT_ONCE)
    assert runs == [ClassRun.objects.get(standing=True)] * AT_ONCE
    assert ClassRun.objects.count() == 2


def test_the_same_press_sent_at_once_is_kept_once(session):
    run, key, at = start(session), uuid4(), now_ms()
    kept = at_once(*[lambda: run_change(run=run, key=key, kind="pause", at_ms=at, by=None)] * AT_ONCE)
    assert kept == [RunChange.objects.get()] * AT_ONCE


def test_different_presses_at_once_are_all_kept_and_numbered(session):
    run = start(session)
    calls = [lambda k=k: run_change(run=run, key=uuid4(), kind=k, at_ms=now_ms(), by=None) for k in ("pause", "resume")]
    kept = at_once(*calls * 2)
    assert sorted(change.number for change in kept) == [1, 2, 3, 4]
    run.refresh_from_db()
    assert run.version == 4
