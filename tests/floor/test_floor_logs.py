"""Logs that staff keep, and the notice of pain and stops."""

import time
from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from athletes.gym.read import today
from athletes.links.write import screen_link_issue
from athletes.models import Athlete, Evidence
from sessions.clock.write import run_change, run_start
from sessions.floor.sheet import sheet_of
from sessions.logs.learning import learn
from sessions.models import Log, LogEntry, PublishedSession
from tests import gym
from tests.conftest import publish
from tests.floor.floor import HOUR, send


@pytest.fixture
def session(furnished, coach) -> PublishedSession:
    gym.people(3)
    week = publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)
    return week.sessions.get(date=today())


@pytest.fixture
def athlete(session) -> Athlete:
    return Athlete.objects.get(board_name="A0002")


def now_ms() -> int:
    return time.time_ns() // 1_000_000


def quick(client, session, athlete, **more):
    body = {"athlete": athlete.pk, "rpe": 7, "key": uuid4(), "at_ms": now_ms(), **more}
    return send(client, session, "log", **body).json()


def test_as_planned_in_one_tap(session, athlete, staff_client, staff):
    tap = {"key": uuid4(), "at_ms": now_ms()}
    for _ in range(3):
        answer = quick(staff_client, session, athlete, **tap)
        assert answer["refused"] == ""
        assert "RPE 7, floor" in answer["html"]
    log = Log.objects.get()
    assert (log.rpe, log.source, log.entered_by) == (7, "floor", staff)
    entries = {entry.station: entry for entry in log.entries.all()}
    for target in session.targets.filter(athlete=athlete):
        entry = entries[target.station]
        assert (entry.rounds, entry.dose, entry.load_kg) == (5, target.dose, target.load_kg)
    learn()
    assert Evidence.objects.filter(athlete=athlete, source=log.key).exists()


def test_a_tablet_whose_clock_is_ahead_does_not_log_above_what_comes_later(session, athlete, staff_client):
    ahead = now_ms() + 3_600_000
    key = uuid4()
    for _ in range(2):
        assert quick(staff_client, session, athlete, key=key, at_ms=ahead)["refused"] == ""
    assert Log.objects.get().done_at <= timezone.now()
    quick(staff_client, session, athlete, rpe=9)
    assert Log.objects.get(replaced=False).rpe == 9


def test_a_class_that_was_ended_early_is_logged_with_the_rounds_it_made(session, athlete, staff_client):
    pressed = now_ms() - 8 * 60_000  # two rounds of three minutes, and a part of the third
    run = run_start(session=session, hour=HOUR, key=uuid4(), by=None, at_ms=pressed)
    run_change(run=run, key=uuid4(), kind="end", at_ms=now_ms(), by=None)
    quick(staff_client, session, athlete)
    assert set(LogEntry.objects.values_list("rounds", "asked_rounds")) == {(2, 5)}


def test_a_class_with_a_round_less_is_logged_with_that(session, athlete, staff_client):
    run = run_start(session=session, hour=HOUR, key=uuid4(), by=None, at_ms=now_ms() - 30 * 60_000)
    run_change(run=run, key=uuid4(), kind="rounds", value=4, at_ms=run.starts_ms + 1000, by=None)
    quick(staff_client, session, athlete)
    assert set(LogEntry.objects.values_list("rounds", flat=True)) == {4}


def test_nobody_logs_a_session_to_come_or_for_who_is_not_in_it(session, athlete, staff_client, make_athlete):
    assert "no targets" in quick(staff_client, session, make_athlete("Nina New"))["refused"]
    PublishedSession.objects.filter(pk=session.pk).update(date=today() + timedelta(days=1))
    assert "still to come" in quick(staff_client, session, athlete)["refused"]
    assert not Log.objects.exists()


def test_the_sheet_says_who_has_logged_and_where(session, athlete, staff_client):
    other = Athlete.objects.get(board_name="A0001")
    phone = {"session": session, "session_key": session.key, "date": session.date, "done_at": timezone.now()}
    Log.objects.create(key=uuid4(), athlete=other, rpe=6.5, source="phone", pain=True, **phone)
    quick(staff_client, session, athlete, rpe=None)
    rows = {row.board_name: row for row in sheet_of(session, HOUR).rows}
    assert [rows[name].log for name in ("A0000", "A0001", "A0002")] == ["", "RPE 6.5, phone", "logged, floor"]
    assert rows["A0001"].flags == ("pain",)


# ---- the log with everything in it ----


@pytest.fixture
def detail(session, athlete) -> str:
    return f"{reverse('sessions:floor-log-detail', args=[session.pk, athlete.pk])}?hour={HOUR}"


def filled(client, detail) -> dict:
    """What the form holds when it is opened."""
    form = client.get(detail).context["form"]
    return {field.html_name: field.value() for field in form if field.value() not in (None, False)}


def test_the_form_begins_as_planned_and_keeps_what_was_changed(session, athlete, detail, staff_client):
    sent = filled(staff_client, detail)
    asked = session.targets.get(athlete=athlete, station=1)
    assert (sent["rounds-1"], sent["dose-1"]) == (5, asked.dose)
    sent |= {"rounds-1": 3, "dose-1": 9, "load-3": 16, "rpe": "9", "pain": "on", "note": "left shoulder"}
    for _ in range(2):
        assert "is kept" in staff_client.post(detail, sent, follow=True).content.decode()
    log = Log.objects.get()
    assert (log.pain, log.stopped, log.note, log.rpe) == (True, False, "left shoulder", 9)
    entries = {entry.station: entry for entry in log.entries.all()}
    assert (entries[1].rounds, entries[1].dose, entries[3].load_kg) == (3, 9, 16)


def test_a_correction_begins_with_what_is_logged_and_takes_its_place(session, athlete, detail, staff_client):
    quick(staff_client, session, athlete, at_ms=now_ms() - 1000)
    sent = filled(staff_client, detail)
    assert sent["rpe"] == 7
    staff_client.post(detail, {**sent, "rounds-1": 2})
    assert Log.objects.count() == 2
    assert Log.objects.get(replaced=False).entries.get(station=1).rounds == 2


@pytest.mark.parametrize(
    ("change", "message"),
    [({"dose-1": "900"}, "less than or equal"), ({"rounds-1": ""}, "required"), ({"key": "x"}, "valid UUID")],
)
def test_figures_that_cannot_be_right_are_refused(session, detail, staff_client, change, message):
    answer = staff_client.post(detail, {**filled(staff_client, detail), **change}).content.decode()
    assert message in answer
    assert not Log.objects.exists()


# ---- pain and stops ----


def flagged(session, athlete, **said) -> Log:
    facts = {"session": session, "session_key": session.key, "date": session.date, "done_at": timezone.now()}
    return Log.objects.create(key=uuid4(), athlete=athlete, source="phone", **facts, **said)


def test_pain_and_stops_are_on_home_and_sheet_at_once(session, athlete, staff_client):
    flagged(session, athlete, pain=True, note="left knee")
    flagged(session, Athlete.objects.get(board_name="A0000"), rpe=5)
    for path in ("/", reverse("sessions:floor", args=[session.pk])):
        shown = staff_client.get(path).content.decode()
        assert 'role="alert" aria-label="Pain and stops"' in shown
        assert shown.count("“left knee”") == 1
        assert "Mill race" in shown
        assert "coachhub does nothing by itself with this" in shown
        assert "decided by licensed care" in shown


def test_the_notice_is_asked_for_again_and_answers_only_with_news(session, athlete, staff_client):
    url = reverse("sessions:flags")
    quiet = staff_client.get(url)
    tag = quiet.context["tag"]
    assert "role=" not in quiet.content.decode().split("data-flags-late")[0]
    assert staff_client.get(url, {"have": tag}).status_code == 204
    log = flagged(session, athlete, stopped=True)
    news = staff_client.get(url, {"have": tag})
    assert "stopped early" in news.content.decode()
    seen = reverse("sessions:flag-seen", args=[log.pk])
    assert "stopped early" not in staff_client.post(seen, headers={"HX-Request": "true"}).content.decode()
    assert staff_client.post(seen).status_code == 302  # again, without scripts


def test_the_first_who_saw_it_is_kept(session, athlete, staff, staff_client, coach_client):
    log = flagged(session, athlete, pain=True)
    for client in (staff_client, coach_client):
        client.post(reverse("sessions:flag-seen", args=[log.pk]))
    log.refresh_from_db()
    assert log.seen_by == staff


def test_the_wall_and_strangers_never_see_it(session, athlete):
    log = flagged(session, athlete, pain=True, note="left knee")
    token = screen_link_issue(by=None).token
    for name in ("sessions:wall", "sessions:wall-clock", "sessions:wall-clock-plan"):
        shown = Client().get(reverse(name, args=[token])).content.decode()
        assert "left knee" not in shown
        assert "pain" not in shown.replace("Stop on pain", "")
    assert Client().get(reverse("sessions:flags")).status_code == 302
    assert Client().post(reverse("sessions:flag-seen", args=[log.pk])).status_code == 302


def test_the_notice_takes_one_query_however_many_there_are(session, staff_client, django_assert_max_num_queries):
    for person in gym.people(25):
        flagged(session, person, pain=True)
    with django_assert_max_num_queries(5):  # the last enters who looked
        shown = staff_client.get(reverse("sessions:flags")).content.decode()
    assert "25 in all" in shown
    assert shown.count(">Seen<") == 20
