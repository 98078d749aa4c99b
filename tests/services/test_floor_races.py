"""Tablets that send in the same moment, each on a connection of its own: once, and nobody's tap is lost silently."""

from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError

from athletes.gym.read import today
from athletes.models import Athlete
from sessions.floor.attendance import attendance_mark
from sessions.floor.walk_ins import walk_in_add, walk_in_new
from sessions.floor.write import dose_change
from sessions.models import Attendance, Pin, Target
from tests import gym
from tests.conftest import publish
from tests.floor.floor import HOUR, tap_on, target_of
from tests.services.test_races import AT_ONCE, at_once

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def session(transactional_db, coach):
    gym.furnish()
    gym.people(1)
    week = publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)
    return week.sessions.select_related("publication__week").get(date=today())


def test_the_same_tap_sent_at_once_changes_once(session, coach):
    tap = tap_on(target_of(session, Athlete.objects.get(), 1), "easier")
    assert at_once(*[lambda: dose_change(session=session, tap=tap, by=coach)] * AT_ONCE) == [None] * AT_ONCE
    assert Pin.objects.count() == 1


def test_of_several_taps_on_one_dose_one_counts_and_the_others_are_told(session, coach):
    target = target_of(session, Athlete.objects.get(), 1)
    taps = [tap_on(target, act) for act in ("easier", "harder") * 2]
    answers = at_once(*[lambda tap=tap: dose_change(session=session, tap=tap, by=coach) for tap in taps])
    assert answers.count(None) == 1
    assert sum(isinstance(answer, ValidationError) for answer in answers) == AT_ONCE - 1
    assert Pin.objects.count() == 1


def test_the_same_walk_in_sent_at_once_is_one(session, staff):
    facts = {
        "session": session,
        "hour": HOUR,
        "name": "Wanda Quist",
        "board_name": "Wanda",
        "key": uuid4(),
        "by": staff,
    }
    added = at_once(*[lambda: walk_in_new(**facts)] * AT_ONCE)
    assert added == [Athlete.objects.get(name="Wanda Quist")] * AT_ONCE
    assert Target.objects.filter(session=session, athlete=added[0]).count() == 3
    assert Attendance.objects.count() == 1


def test_several_walk_ins_at_once_are_all_in(session, staff):
    late = gym.people(AT_ONCE)
    calls = [lambda who=who: walk_in_add(session=session, hour=HOUR, athlete=who, by=staff) for who in late]
    assert at_once(*calls) == [None] * AT_ONCE
    assert Target.objects.filter(session=session).count() == 3 * (1 + AT_ONCE)


def test_attendance_marked_at_once_is_one(session, staff):
    facts = {"session": session, "athlete_id": Athlete.objects.get().pk, "hour": HOUR, "by": staff}
    assert at_once(*[lambda: attendance_mark(**facts)] * AT_ONCE) == [None] * AT_ONCE
    assert Attendance.objects.count() == 1
