"""Logs: kept once, in any order; the one made last counts; what they say reaches the estimates."""

from datetime import UTC, datetime, timedelta
from random import Random
from uuid import uuid4

import numpy as np
import pytest
from django.test import Client
from django.utils import timezone

from athletes.estimates.write import estimates_refresh
from athletes.links.write import link_issue
from athletes.models import Athlete, Estimate, Evidence
from sessions.logs import learning
from sessions.logs.learning import learn
from sessions.models import Log, LogEntry, PublishedSession
from tests import gym
from tests.conftest import publish

ROW = {
    "name": "Row alone",
    "interval_s": 120,
    "rotations": 8,
    "stations": [
        {"work_window_s": 60, "options": [{"movement": "row", "dose_kind": "kcal", "dose": 40, "least_dose": 5}]}
    ],
}


@pytest.fixture
def session(furnished, coach) -> PublishedSession:
    gym.people(3)
    return publish(gym.planned_week(gym.this_monday(), gym.circuit(ROW)), coach, day=gym.this_monday()).sessions.get()


@pytest.fixture
def athlete(session) -> Athlete:
    return Athlete.objects.first()


def phone_of(athlete: Athlete) -> Client:
    return Client(headers={"Authorization": f"Link {link_issue(athlete=athlete, by=None).token}"})


def body(session: PublishedSession, athlete: Athlete, *, rpe=8, done=None, rounds=8, minutes=0, **more) -> dict:
    asked = session.targets.get(athlete=athlete).dose
    return {
        "key": str(uuid4()),
        "session_key": str(session.key),
        "date": session.date.isoformat(),
        "done_at": (datetime(2026, 11, 25, 8, tzinfo=UTC) + timedelta(minutes=minutes)).isoformat(),
        "rpe": rpe,
        "entries": [{"station": 1, "rounds": rounds, "dose": asked if done is None else done}],
        **more,
    }


def send(phone: Client, log: dict):
    return phone.post("/api/v1/my/logs/", log, content_type="application/json")


def held_power(athlete: Athlete) -> float:
    """Best even power over a minute on the rowing ergometer, as estimated [W]."""
    critical, work, ramp = np.exp(Estimate.objects.get(athlete=athlete, engine="row").mean)
    return critical + work / (60 + ramp)


def test_a_log_is_kept_once_however_often_and_in_whatever_order_it_comes(session, athlete):
    phone = phone_of(athlete)
    logs = [body(session, athlete, rpe=5 + n % 5, minutes=n) for n in range(20)]
    sent = logs * 10
    Random(4).shuffle(sent)
    assert {send(phone, log).status_code for log in sent} == {201}
    assert Log.objects.count() == LogEntry.objects.count() == 20
    assert str(Log.objects.get(replaced=False).key) == logs[-1]["key"]


def test_another_log_under_the_same_key_is_refused(session, athlete):
    phone, log = phone_of(athlete), body(session, athlete)
    send(phone, log)
    answer = send(phone, {**log, "rpe": 2})
    assert answer.status_code == 400
    assert "Another log was kept" in answer.content.decode()
    assert Log.objects.get().rpe == 8


def test_a_log_sent_again_is_known_though_its_targets_have_changed(session, athlete):
    phone, log = phone_of(athlete), body(session, athlete)
    assert send(phone, log).status_code == 201
    session.targets.filter(athlete=athlete).update(station=2)
    assert send(phone, log).status_code == 201
    assert Log.objects.count() == 1


def test_nobody_logs_for_somebody_else_or_for_a_session_that_was_not_theirs(session, athlete, staff_client):
    log = body(session, athlete)
    assert send(Client(), log).status_code in (401, 403)
    assert send(staff_client, log).status_code == 403
    assert send(phone_of(athlete), {**log, "session_key": str(uuid4())}).status_code == 404


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"entries": [{"station": 9, "rounds": 1, "dose": 1}]}, "no station 9"),
        ({"entries": [{"station": 1, "rounds": 1, "dose": 5000}]}, "check the figures"),
        ({"rpe": 11}, "less than or equal to 10"),
    ],
)
def test_a_log_that_cannot_be_right_says_what_to_check(session, athlete, change, message):
    answer = send(phone_of(athlete), {**body(session, athlete), **change})
    assert answer.status_code == 400
    assert message in answer.content.decode()
    assert not Log.objects.exists()


def test_a_hard_session_below_the_target_lowers_the_estimate_and_an_easy_one_never_does(session, athlete):
    before = held_power(athlete)
    asked = session.targets.get(athlete=athlete).dose
    send(phone_of(athlete), body(session, athlete, rpe=10, done=asked - 6, rounds=5))
    assert learn() == 1
    missed = held_power(athlete)
    assert missed < before
    send(phone_of(athlete), body(session, athlete, rpe=3, minutes=5))
    learn()
    assert held_power(athlete) >= before
    assert Evidence.objects.filter(athlete=athlete).count() <= 1  # the earlier log no longer speaks


def test_a_log_is_learnt_once_and_estimates_can_be_made_again(session, athlete):
    send(phone_of(athlete), body(session, athlete, rpe=10, rounds=4))
    assert [learn(), learn()] == [1, 0]
    after = held_power(athlete)
    estimates_refresh(athletes=[athlete.pk])
    assert held_power(athlete) == pytest.approx(after, rel=1e-9)


def three_stations(session: PublishedSession, athlete: Athlete, rounds: list[int], rpe=10) -> dict:
    asked = dict(session.targets.filter(athlete=athlete, rung__gte=0).values_list("station", "dose"))
    entries = [
        {"station": station, "rounds": made, "dose": dose}
        for (station, dose), made in zip(sorted(asked.items()), rounds, strict=True)
    ]
    facts = {"session_key": str(session.key), "date": session.date.isoformat(), "done_at": "2026-11-25T08:00:00Z"}
    return {"key": str(uuid4()), "rpe": rpe, "entries": entries, **facts}


@pytest.mark.parametrize(("rounds", "heard"), [([3, 3, 3], False), ([5, 4, 5], True)])
def test_a_class_that_ended_early_is_nobodys_miss(furnished, coach, rounds, heard):
    """Three rounds at every station is a class cut short; four at one of three is somebody who had enough."""
    [athlete] = gym.people(1)
    session = publish(gym.planned_week(gym.this_monday()), coach, day=gym.this_monday()).sessions.get()
    assert send(phone_of(athlete), three_stations(session, athlete, rounds)).status_code == 201
    learn()
    assert Log.objects.get().learnt_at is not None
    assert Evidence.objects.exists() == heard


def test_the_short_windows_of_the_way_back_say_nothing(furnished, coach):
    gym.people(1)
    Athlete.objects.update(joined_on=gym.this_monday())
    session = publish(gym.planned_week(gym.this_monday()), coach, day=gym.this_monday()).sessions.get()
    athlete = Athlete.objects.get()
    assert "return" in {row.detail["bound"] for row in session.targets.all()}
    send(phone_of(athlete), three_stations(session, athlete, [5, 4, 5]))
    learn()
    assert not Evidence.objects.exists()


def test_an_odd_log_does_not_keep_the_others_waiting(session, athlete, monkeypatch):
    other = Athlete.objects.exclude(pk=athlete.pk).first()
    for person in (athlete, other):
        send(phone_of(person), body(session, person, rpe=10, rounds=4))
    read = learning.evidence_rows

    def stumble(log, *facts):
        if log.athlete_id == athlete.pk:
            raise ZeroDivisionError
        return read(log, *facts)

    monkeypatch.setattr(learning, "evidence_rows", stumble)
    learn()
    assert Log.objects.get(athlete=other).learnt_at is not None
    assert Log.objects.get(athlete=athlete).learnt_at is None
    monkeypatch.undo()
    learn()
    assert Evidence.objects.filter(athlete=athlete).exists()


def test_a_session_that_is_still_to_come_cannot_be_logged_and_no_log_is_made_tomorrow(session, athlete):
    phone, log = phone_of(athlete), body(session, athlete)
    tomorrow = (timezone.now() + timedelta(days=1)).isoformat()
    answer = send(phone, {**log, "date": tomorrow[:10]})
    assert answer.status_code == 400
    assert "still to come" in answer.content.decode()
    assert send(phone, {**log, "done_at": tomorrow}).status_code == 201
    assert Log.objects.get().done_at <= timezone.now()
    later = body(session, athlete, rpe=5)
    later["done_at"] = timezone.now().isoformat()
    send(phone, later)  # a phone whose clock ran ahead never hides a correction
    assert Log.objects.get(replaced=False).rpe == 5


@pytest.mark.parametrize("flag", ["pain", "stopped"])
def test_pain_or_a_stop_takes_part_in_nothing_automatic(session, athlete, flag):
    before = held_power(athlete)
    send(phone_of(athlete), body(session, athlete, rpe=10, rounds=2, **{flag: True}))
    learn()
    assert not Evidence.objects.exists()
    assert held_power(athlete) == pytest.approx(before, rel=1e-9)


def test_a_station_that_was_not_logged_says_nothing(session, athlete):
    send(phone_of(athlete), {**body(session, athlete, rpe=10), "entries": []})
    learn()
    assert Log.objects.get().learnt_at is not None
    assert not Evidence.objects.exists()
