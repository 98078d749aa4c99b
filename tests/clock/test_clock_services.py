"""Starting and changing a class's clock: once, whoever presses, however often it is sent."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError

from athletes.gym.read import today
from athletes.models import Athlete
from sessions.class_versions import class_moved
from sessions.clock import write as clock
from sessions.clock.classes import class_time, classes_of_day
from sessions.clock.read import changes_of, class_at, class_on_screen
from sessions.clock.write import presses_take, run_change, run_start
from sessions.models import ClassRun, PublishedSession, RunChange
from tests import gym
from tests.conftest import publish

NOW = 1_790_000_000_000


@pytest.fixture
def hand(monkeypatch):
    """The server's time, in the test's hand."""

    class Hand:
        now = NOW

    monkeypatch.setattr(clock, "now_ms", lambda: Hand.now)
    return Hand


@pytest.fixture
def week(furnished, coach):
    gym.people(4)
    return publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)


@pytest.fixture
def session(week) -> PublishedSession:
    return week.sessions.get(date=today())


def start(session, hand, **facts) -> ClassRun:
    return run_start(**{"session": session, "hour": "06:00", "key": uuid4(), "by": None, "at_ms": hand.now, **facts})


def change(run, hand, kind, value=0, **facts) -> RunChange:
    return run_change(
        **{"run": run, "key": uuid4(), "kind": kind, "value": value, "at_ms": hand.now, "by": None, **facts}
    )


def test_a_class_begins_when_the_time_to_get_ready_is_over(session, hand, coach):
    start(session, hand, by=coach, at_ms=NOW - 400)
    run = ClassRun.objects.get()
    assert run.starts_ms == NOW - 400 + 10_000
    assert run.over_ms == run.starts_ms + 15 * 60_000
    kept = {"windows_s": [45, 40, 45], "interval_s": 60, "rounds": 5, "partners": 1, "ready_s": 10}
    assert run.shape == {**kept, "kind": "every", "parts": [], "main": 0}
    assert (run.session_key, run.date, run.hour, run.started_by) == (session.key, today(), "06:00", coach)


def test_the_same_start_twice_is_one(session, hand):
    key = uuid4()
    first = start(session, hand, key=key)
    hand.now += 3_000
    assert start(session, hand, key=key) == first
    assert ClassRun.objects.get().starts_ms == NOW + 10_000


def test_a_second_coach_joins_the_class_that_runs(session, hand):
    first = start(session, hand)
    hand.now += 3_000
    assert start(session, hand) == first


def test_each_class_time_has_its_own_clock(session, hand):
    assert start(session, hand) != start(session, hand, hour="18:30")


def test_the_database_refuses_a_second_standing_run(session, hand):
    run = start(session, hand)
    run.pk, run.key = None, uuid4()
    with pytest.raises(IntegrityError):
        run.save(force_insert=True)


def test_a_class_that_is_over_starts_again_and_the_old_presses_find_it_gone(session, hand):
    first = start(session, hand)
    change(first, hand, "end")
    hand.now += 60_000
    second = start(session, hand)
    assert second != first
    assert ClassRun.objects.get(standing=True) == second
    with pytest.raises(ValidationError, match="started again"):
        change(first, hand, "resume")


@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        ({"hour": "07:15"}, "no class at this time"),
        ({"ready_s": 0}, "from 3 to 120 seconds"),
        ({"at_ms": NOW + 60_000}, "from the future"),
        ({"at_ms": NOW - 4 * 3_600_000}, "older than this class"),
    ],
)
def test_a_start_that_cannot_be_says_why(session, hand, facts, sentence):
    with pytest.raises(ValidationError, match=sentence):
        start(session, hand, **facts)
    assert not ClassRun.objects.exists()


def test_another_days_session_does_not_start(week, hand):
    other = week.sessions.exclude(date=today()).first()
    with pytest.raises(ValidationError, match="on that day only"):
        start(other, hand)


def test_a_small_lead_of_a_pages_time_is_taken_as_now(session, hand):
    assert start(session, hand, at_ms=NOW + 900).starts_ms == NOW + 10_000


def test_a_change_is_kept_once_and_moves_the_end(session, hand):
    run, key = start(session, hand), uuid4()
    hand.now += 30_000
    first = change(run, hand, "pause", key=key)
    hand.now += 5_000
    assert change(run, hand, "pause", key=key) == first
    run.refresh_from_db()
    assert run.version == 1
    hand.now += 5_000
    change(run, hand, "resume")
    run.refresh_from_db()
    assert run.over_ms == NOW + 10_000 + 15 * 60_000 + 10_000
    assert [c.number for c in run.changes.all()] == [1, 2]


def test_a_press_that_waited_counts_from_when_it_was_made(session, hand):
    run = start(session, hand)
    hand.now += 60_000
    change(run, hand, "resume")
    change(run, hand, "pause", at_ms=hand.now - 20_000)
    assert [c.kind for c in changes_of(run.pk)] == ["pause", "resume"]


@pytest.mark.parametrize(
    ("kind", "value", "at", "sentence"),
    [
        ("jump", 999, 0, "no such interval"),
        ("rounds", 0, 0, "1 to 60 rounds"),
        ("pause", 0, -1, "older than this class"),
        ("pause", 0, 60_000, "from the future"),
    ],
)
def test_a_change_that_cannot_be_says_why(session, hand, kind, value, at, sentence):
    run = start(session, hand)
    with pytest.raises(ValidationError, match=sentence):
        change(run, hand, kind, value, at_ms=NOW + at)
    assert not run.changes.exists()


def test_a_key_that_was_used_for_another_class_is_refused(session, hand):
    morning, evening, key = start(session, hand), start(session, hand, hour="18:30"), uuid4()
    change(morning, hand, "pause", key=key)
    with pytest.raises(ValidationError, match="another class"):
        change(evening, hand, "pause", key=key)


def test_a_page_may_send_its_presses_again_and_one_that_is_refused_holds_up_none(session, hand):
    run = uuid4()
    presses = [
        {"key": run, "kind": "start", "at_ms": NOW, "value": 20},
        {"key": uuid4(), "kind": "jump", "at_ms": NOW, "value": 999, "run": run},
        {"key": uuid4(), "kind": "pause", "at_ms": NOW, "value": 0, "run": run},
        {"key": uuid4(), "kind": "pause", "at_ms": NOW, "value": 0, "run": uuid4()},
    ]
    for _ in range(2):
        refused = presses_take(session=session, hour="06:00", presses=presses, by=None)
        assert set(refused) == {str(presses[1]["key"]), str(presses[3]["key"])}
        assert "Another coach had started this class" in refused[str(presses[3]["key"])]
    kept = ClassRun.objects.get()
    assert (kept.key, kept.shape["ready_s"], kept.version) == (run, 20, 1)


def test_a_class_goes_on_through_a_new_revision_and_shows_its_doses(session, hand, coach, week):
    run = start(session, hand)
    second = publish(week.week, coach)
    fresh = second.sessions.get(date=today())
    found = class_at(fresh.pk, "06:00").running
    assert (found.id, found.plan) == (run.pk, fresh.pk)
    assert start(fresh, hand) == run
    assert start(session, hand, hour="18:30").session == fresh  # asked for from a page that is behind


def test_a_screen_is_told_of_a_class_until_ten_minutes_after_its_end(session, hand):
    from athletes.links.write import screen_link_issue

    token = screen_link_issue(by=None).token
    assert class_on_screen(token, NOW, today()).running is None
    run = start(session, hand)
    assert class_on_screen(token, run.over_ms + 599_999, today()).running.id == run.pk
    assert class_on_screen(token, run.over_ms + 600_000, today()).running is None


def test_todays_classes_by_their_time(session, hand, week):
    start(session, hand, hour="18:30")
    assert [(c.hour, c.runs) for c in classes_of_day(today(), NOW)] == [("06:00", False), ("18:30", True)]
    assert classes_of_day(today() + timedelta(days=7), NOW) == []


def test_without_a_class_time_the_nearest_one_is_meant(session):
    from django.utils import timezone

    at = timezone.localtime().replace(hour=9, minute=0)
    assert class_time(session, "", at) == "06:00"
    assert class_time(session, "", at.replace(hour=17)) == "18:30"
    assert class_time(session, "18:30", at) == "18:30"
    assert class_time(session, "99:99", at) == "06:00"
    session.hours = []
    assert class_time(session, "06:00", at) == ""


def test_the_plan_is_made_once_and_again_when_a_target_changes(session, django_assert_num_queries):
    from sessions.clock.live import wall_plan

    session = PublishedSession.objects.select_related("publication").get(pk=session.pk)

    def names() -> list[str]:
        return sorted(person["name"] for person in wall_plan(session, "06:00")["people"])

    plan = wall_plan(session, "06:00")
    assert names() == list(Athlete.objects.values_list("board_name", flat=True))
    assert sorted(person["group"] for person in plan["people"]) == [0, 0, 1, 2]
    with django_assert_num_queries(4):
        assert wall_plan(session, "06:00")["people"] is plan["people"]
    Athlete.objects.filter(board_name="A0003").update(board_name="Otter")
    assert names() == ["A0000", "A0001", "A0002", "Otter"]
    target = session.targets.filter(athlete__board_name="A0000", station=1, rung=0).get()
    session.targets.filter(pk=target.pk).update(dose=target.dose - 1)
    class_moved(session)
    first = next(person for person in wall_plan(session, "06:00")["people"] if person["name"] == "A0000")
    assert (first["doses"][0]["dose"], first["doses"][0]["unit"]) == (f"{target.dose - 1:.0f}", "kcal")
