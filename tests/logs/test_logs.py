"""Logs: kept once, in any order; the one made last counts; what they say reaches the estimates."""

import re
import time
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from random import Random
from uuid import uuid4

import numpy as np
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from athletes.estimates.write import estimates_refresh
from athletes.gym.read import today
from athletes.links.write import link_issue
from athletes.models import Athlete, Benchmark, Effort, Estimate, Evidence, Movement
from sessions.clock.moment import shape_of
from sessions.clock.write import now_ms, run_change, run_start
from sessions.floor.attendance import attendance_mark
from sessions.logs import learning
from sessions.logs.learning import learn
from sessions.logs.read import session_to_log
from sessions.logs.write import log_write
from sessions.models import ClassRun, Log, LogEntry, PublishedSession, RunChange, Target
from sessions.targets.detail import detail_of
from tests import gym
from tests.conftest import publish
from tests.phones import open_page

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


@pytest.fixture
def three(furnished, coach) -> PublishedSession:
    """Three stations, five rounds, four people."""
    gym.people(4)
    return publish(gym.planned_week(gym.this_monday()), coach, day=gym.this_monday()).sessions.get()


def heard(athlete: Athlete) -> bool:
    return Evidence.objects.filter(athlete=athlete, step__lt=0).exists()


def test_who_breaks_down_alone_has_missed_something_at_every_station(three):
    athlete, *others = Athlete.objects.order_by("pk")
    send(phone_of(athlete), three_stations(three, athlete, [4, 4, 4]))
    for other in others:
        send(phone_of(other), three_stations(three, other, [5, 5, 5], rpe=8))
    learn()
    assert heard(athlete)


def test_a_class_that_all_logs_show_to_have_ended_early_is_nobodys_miss(three):
    for athlete in Athlete.objects.all():
        send(phone_of(athlete), three_stations(three, athlete, [3, 3, 3]))
        learn(athlete.pk)  # as they come in: the first two know of no others
    assert Evidence.objects.exists()
    learn()
    assert not Evidence.objects.exists()
    assert learn() == 0
    assert not Log.objects.filter(learnt_at=None).exists()


@pytest.mark.parametrize(("minutes", "missed"), [(11, False), (20, True)])
def test_the_clock_says_whether_the_class_ended_early(three, minutes, missed):
    """Three rounds of three minutes and a bit, or all five of them."""
    athlete = Athlete.objects.first()
    began = now_ms() - 86_400_000
    over = began + minutes * 60_000
    run = ClassRun.objects.create(
        session=three, session_key=three.key, date=three.date, hour="06:00", starts_ms=began, over_ms=over,
        shape=asdict(shape_of(three.definition)),
    )  # fmt: skip
    RunChange.objects.create(run=run, key=uuid4(), number=1, kind="end", at_ms=over)
    send(phone_of(athlete), three_stations(three, athlete, [3, 3, 3]))
    learn()
    assert heard(athlete) == missed


def test_the_first_weeks_are_measured_like_any_other(furnished, coach):
    gym.people(12)
    [athlete] = gym.people(1, tested=False)
    Athlete.objects.filter(pk=athlete.pk).update(joined_on=gym.this_monday())
    estimates_refresh()
    monday = gym.this_monday()
    session = publish(gym.planned_week(monday), coach, day=monday).sessions.get()
    targets = session.targets.filter(athlete=athlete).order_by("station")
    assert {row.rounds < 5 for row in targets} == {True}
    assert [(detail_of(row).week, detail_of(row).untested) for row in targets] == [(1, True)] * 3
    expected = min(detail_of(row).expected_rpe for row in targets if detail_of(row).expected_rpe)
    send(phone_of(athlete), three_stations(session, athlete, [row.rounds for row in targets], rpe=expected))
    learn()
    said = Evidence.objects.filter(athlete=athlete)
    assert said.count() == 3
    assert said.filter(value__gt=0).exists()
    again = publish(gym.planned_week(), coach).sessions.get().targets.filter(athlete=athlete)
    assert [detail_of(row).untested for row in again] == [False] * 3
    assert [detail_of(row).week for row in again] == [2] * 3


def test_of_targets_of_an_earlier_method_a_log_says_that_it_was_done(session, athlete):
    Target.objects.filter(athlete=athlete).update(detail={"bound": "own"})
    send(phone_of(athlete), body(session, athlete, rpe=10, rounds=5))
    learn()
    row = Evidence.objects.get(athlete=athlete)
    assert (row.engine, row.step, row.value) == ("row", 0, None)


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


# ---- what was done in an open last round, and the first log of somebody untested ----

OPEN = {
    "name": "Pulls to the end",
    "interval_s": 60,
    "rotations": 6,
    "open_last": True,
    "stations": [{"work_window_s": 50, "options": [{"movement": "ring-row", "dose_kind": "repetitions", "dose": 6}]}],
}


@pytest.fixture
def open_session(furnished, coach) -> PublishedSession:
    """An open last round of a movement that everyone was tested on."""
    rows = Benchmark.objects.create(
        name="Ring rows", slug="rows", movement=Movement.objects.get(slug="ring-row"), measure="repetitions"
    )
    for athlete in gym.people(3):
        Effort.objects.create(
            athlete=athlete, benchmark=rows, value=20, typed="20", performed_on=today() - timedelta(days=90)
        )
    estimates_refresh()
    monday = gym.this_monday()
    return publish(gym.planned_week(monday, gym.circuit(OPEN)), coach, day=monday).sessions.get()


def most_rows(athlete: Athlete) -> float:
    return float(np.exp(Estimate.objects.get(athlete=athlete, movement__slug="ring-row").mean[0]))


def open_body(session: PublishedSession, athlete: Athlete, last: float | None, minutes: int = 0) -> dict:
    log = body(session, athlete, rounds=6, minutes=minutes)
    log["entries"][0]["open_last"] = last
    return log


def test_an_open_last_round_measures_and_goes_with_its_log(open_session):
    athlete = Athlete.objects.first()
    before = most_rows(athlete)
    assert send(phone_of(athlete), open_body(open_session, athlete, 18)).status_code == 201
    assert LogEntry.objects.get().open_last == 18
    learn()
    further = most_rows(athlete)
    assert further > 1.1 * before
    evidence = Evidence.objects.get()
    assert evidence.value > before
    assert evidence.step == 0
    send(phone_of(athlete), open_body(open_session, athlete, None, minutes=5))  # it was a slip: taken back
    learn()
    assert most_rows(athlete) < 1.05 * before
    assert Evidence.objects.get().value is None


def test_an_open_last_round_that_stopped_short_lowers_the_number(open_session):
    athlete = Athlete.objects.first()
    before = most_rows(athlete)
    send(phone_of(athlete), open_body(open_session, athlete, 6))
    learn()
    assert most_rows(athlete) < 0.95 * before


def test_the_last_round_is_open_only_where_the_target_says_so(session, athlete):
    log = body(session, athlete)
    log["entries"][0]["open_last"] = 30
    assert send(phone_of(athlete), log).status_code == 201
    assert LogEntry.objects.get().open_last is None


def test_a_last_round_beyond_belief_is_asked_about(open_session):
    athlete = Athlete.objects.first()
    answer = send(phone_of(athlete), open_body(open_session, athlete, 400))
    assert answer.status_code == 400
    assert "check the figures" in answer.content.decode()


def test_the_first_log_of_somebody_untested_is_a_measurement(furnished, coach):
    gym.people(12)
    [stranger] = gym.people(1, tested=False)
    estimates_refresh()
    monday = gym.this_monday()
    session = publish(gym.planned_week(monday, gym.circuit(ROW)), coach, day=monday).sessions.get()
    sd = Estimate.objects.get(athlete=stranger, engine="row").covariance[0][0]
    before = held_power(stranger)
    send(phone_of(stranger), body(session, stranger, rpe=3))
    learn()
    measured = Evidence.objects.get(athlete=stranger)
    assert measured.value > 0 and measured.sd_log < 0.3  # noqa: PT018
    assert held_power(stranger) > before
    assert Estimate.objects.get(athlete=stranger, engine="row").covariance[0][0] < sd


def test_logs_since_the_last_test_say_in_a_sentence_what_they_moved(session, athlete, staff_client):
    send(phone_of(athlete), body(session, athlete, rpe=10, rounds=5))
    learn()
    page = staff_client.get(f"/athletes/{athlete.pk}/").content.decode()
    assert re.search(r"Logs: −\d+ % since the last test\.", page)


def test_rounds_asked_are_those_of_the_target(session, athlete):
    session.targets.filter(athlete=athlete).update(rounds=5)
    send(phone_of(athlete), body(session, athlete, rounds=5))
    assert LogEntry.objects.get().asked_rounds == 5


def test_a_revision_after_the_class_is_not_what_was_done(furnished, coach):
    """The morning class is over when the week is published again: the log asks about what stood there then."""
    [athlete] = gym.people(1)
    week = publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)
    session = week.sessions.get(date=today())
    attendance_mark(session=session, athlete_id=athlete.pk, hour="06:00", by=coach)
    run = run_start(session=session, hour="06:00", key=uuid4(), by=coach, at_ms=now_ms())
    again = publish(session.publication.week, coach)
    assert session_to_log(athlete, session.key, session.date).publication == again  # while it runs, the new one counts
    run_change(run=run, key=uuid4(), kind="end", at_ms=now_ms(), by=coach)
    time.sleep(0.01)
    newest = publish(session.publication.week, coach)
    fresh = newest.sessions.get(date=session.date)
    fresh.targets.filter(athlete=athlete, station=1).update(dose=3)
    assert session_to_log(athlete, session.key, session.date).publication == again
    page = open_page(link_issue(athlete=athlete, by=None), "phone-log")
    asked = again.targets.get(athlete=athlete, session__date=session.date, station=1).dose
    assert f'data-asked="{asked:g}"' in page.content.decode()


def test_a_log_of_many_stations_costs_no_more_queries(furnished, coach):
    gym.people(2)
    week = gym.planned_week(gym.this_monday(), gym.circuit())
    session = publish(week, coach, day=gym.this_monday()).sessions.get()
    counts = []
    for athlete, stations in zip(Athlete.objects.all(), (1, 3), strict=True):
        targets = session.targets.filter(athlete=athlete, station__lte=stations)
        entries = [{"station": each.station, "rounds": each.rounds, "dose": each.dose} for each in targets]
        content = {"key": uuid4(), "done_at": timezone.now(), "entries": entries}
        content |= {"rpe": 7, "pain": False, "stopped": False, "note": ""}
        with CaptureQueriesContext(connection) as asked:
            log = log_write(athlete=athlete, session=session, content=content, source=Log.Source.PHONE)
        assert log.entries.count() == stations
        counts.append(len(asked))
    assert counts[0] == counts[1]
