"""A week is built by moving, copying, taking off and finding; each can be taken back, and sent twice does it once."""

from datetime import date, time, timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from athletes.models import Gym, Movement
from sessions.circuits.library import library
from sessions.classes.write import parts_write
from sessions.models import Circuit, Log, LogEntry, Pin, PlannedSession, Week
from sessions.weeks.read import overview
from sessions.weeks.write import Copied, session_plan, sessions_copy, week_ensure
from tests import gym
from tests.conftest import publish

MONDAY = date(2026, 12, 7)


@pytest.fixture
def week(furnished) -> Week:
    return gym.planned_week(MONDAY, gym.circuit(), gym.circuit())


def first(week: Week) -> PlannedSession:
    return week.sessions.order_by("weekday").first()


def undo(client, page: str):
    """Press Undo on a page."""
    form = page.split('class="undo"')[0].rsplit("<form", 1)[1].split('action="')[1].split('"')[0]
    rest = page.split('class="undo"')[1].split("</form>")[0]
    fields: dict[str, list[str]] = {}
    for part in rest.split("<input")[1:]:
        name, value = (part.split(f'{key}="')[1].split('"')[0] for key in ("name", "value"))
        fields.setdefault(name, []).append(value)
    return client.post(form, fields, follow=True)


def test_a_session_moves_to_any_day_and_back(week, coach_client):
    session = first(week)
    url = reverse("sessions:planned-move", args=[session.pk])
    answer = coach_client.post(url, {"day": "2026-12-17"}, follow=True)
    session.refresh_from_db()
    assert session.date == date(2026, 12, 17)
    assert [hour.starts_at for hour in session.hours.all()] == [time(6), time(18, 30)]
    assert "is on Thursday 17 Dec now" in answer.content.decode()
    undo(coach_client, answer.content.decode())
    session.refresh_from_db()
    assert session.date == MONDAY


def test_a_day_that_is_none_moves_nothing(week, coach_client):
    answer = coach_client.post(reverse("sessions:planned-move", args=[first(week).pk]), {"day": "soon"}, follow=True)
    assert "Say the day to move it to" in answer.content.decode()
    assert first(week).date == MONDAY


def test_what_is_taken_off_comes_back_with_everything(week, coach_client, coach):
    session = first(week)
    athlete = gym.people(1)[0]
    Pin.objects.create(session_key=session.key, athlete=athlete, station=1, reason="rests", made_by=coach)
    keys = {"session": [row.key for row in week.sessions.all()], "week": MONDAY}
    answer = coach_client.post(reverse("sessions:planned-take-off"), keys, follow=True)
    assert not week.sessions.standing().exists()
    assert "2 sessions are off the week" in answer.content.decode()
    back = undo(coach_client, answer.content.decode())
    assert back.redirect_chain[-1][0] == reverse("sessions:week", args=[MONDAY])  # where one was
    assert week.sessions.standing().count() == 2
    assert Pin.objects.standing().filter(session_key=session.key).exists()


@pytest.mark.parametrize("along", [{"hours": "on", "notes": "on", "by_hand": "on"}, {}])
def test_what_is_ticked_is_copied_into_a_filled_week_once(week, coach_client, coach, along):
    session = first(week)
    PlannedSession.objects.filter(pk=session.pk).update(note="skip, then hips")
    athlete = gym.people(1)[0]
    Pin.objects.create(session_key=session.key, athlete=athlete, station=1, reason="rests", made_by=coach)
    into = gym.planned_week(MONDAY + timedelta(days=7), gym.circuit())
    sent = {"key": uuid4(), "week": MONDAY, "into": "2026-12-16", "session": [session.key], **along}
    answer = coach_client.post(reverse("sessions:planned-copy"), sent, follow=True)
    coach_client.post(reverse("sessions:planned-copy"), sent)
    copied = into.sessions.standing().order_by("pk").last()
    assert into.sessions.standing().count() == 2  # both stay
    assert copied.weekday == 0
    assert copied.note == ("skip, then hips" if along else "")
    assert copied.hours.count() == (2 if along else 0)
    assert Pin.objects.filter(session_key=copied.key).count() == (1 if along else 0)
    undo(coach_client, answer.content.decode())
    assert into.sessions.standing().count() == 1


def test_copying_nothing_says_what_to_do(week, coach_client):
    sent = {"key": uuid4(), "week": MONDAY, "into": "2026-12-16"}
    answer = coach_client.post(reverse("sessions:planned-copy"), sent, follow=True)
    assert "Tick the sessions to copy" in answer.content.decode()
    sent = {"key": uuid4(), "week": MONDAY, "into": "", "session": [first(week).key]}
    answer = coach_client.post(reverse("sessions:planned-copy"), sent, follow=True)
    assert "Say a day of the week to copy into" in answer.content.decode()
    assert PlannedSession.objects.count() == 2


def test_a_card_shows_stations_minutes_intent_heat_and_what_is_another(week, coach, coach_client):
    gym.people(1)
    publish(week, coach)
    monday, tuesday = week.sessions.order_by("weekday")
    PlannedSession.objects.filter(pk=monday.pk).update(wbgt_c=Gym.objects.get().heat_first_c)
    session_plan(planned=PlannedSession(week=week, weekday=4, circuit=monday.circuit), hours=[time(6)])
    PlannedSession.objects.filter(pk=tuesday.pk).update(weekday=2)
    page = coach_client.get(reverse("sessions:week", args=[MONDAY])).content.decode()
    for words in ("8–15", "kcal row", "pull up", "goblet squat 24 kg", "changed since published"):
        assert words in page, words
    assert "moved from Tuesday" in page
    assert "hot: steady, you wrote hard" in page
    assert ">new<" in page
    assert "3 days changed" in page
    PlannedSession.objects.filter(pk=monday.pk).update(removed_at="2026-12-01T10:00Z")
    page = coach_client.get(reverse("sessions:week", args=[MONDAY])).content.decode()
    assert "taken off, still published" in page


def test_what_is_over_is_not_marked_as_changed(furnished, coach):
    gym.people(1)
    monday = gym.this_monday() - timedelta(days=7)
    week = gym.planned_week(monday)
    publish(week, coach, day=monday)
    Circuit.objects.update(rotations=2)
    card = overview(week, Gym.objects.get()).days[0].sessions[0]
    assert card.changed == ""


def test_the_week_asks_no_more_queries_for_more_sessions(week, coach_client):
    url = reverse("sessions:week", args=[MONDAY])
    coach_client.get(url)
    with CaptureQueriesContext(connection) as few:
        coach_client.get(url)
    for weekday in range(2, 7):
        session_plan(planned=PlannedSession(week=week, weekday=weekday, circuit=gym.circuit()), hours=[time(6)])
    with CaptureQueriesContext(connection) as many:
        coach_client.get(url)
    assert len(many) <= len(few)


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ("", {"Mill race", "Flume"}),
        ("pull-up", {"Mill race"}),
        ("pull-ups 10-20 min", {"Mill race"}),
        ("20-30 min", set()),
        ("5 min", {"Flume"}),
        ("MILL", {"Mill race"}),
        ("ring row", {"Mill race"}),  # a swap is in it too
        ("flume row", {"Flume"}),
        ("burpee", set()),
        ("under 10 min", {"Flume"}),
        ("pull-up over 10 min", {"Mill race"}),
        ("never", {"Mill race", "Flume"}),
        ("flume not for 4 weeks", {"Flume"}),
    ],
)
def test_the_library_is_searched_by_name_movement_and_length(furnished, asked, found):
    gym.circuit()
    gym.circuit({**gym.DOCUMENT, "name": "Flume", "stations": gym.DOCUMENT["stations"][:1]})
    assert {one.circuit.name for one in library(asked)} == found


def test_the_library_says_when_a_circuit_was_used_and_how_it_went(furnished, coach):
    [athlete] = gym.people(1)
    week = gym.planned_week(gym.this_monday() - timedelta(days=7))
    publication = publish(week, coach, day=week.starts_on)
    session = publication.sessions.get()
    log = Log.objects.create(
        key=uuid4(), athlete=athlete, session=session, session_key=session.key, date=session.date, rpe=7,
        source="floor", done_at="2026-01-01T10:00Z",
    )  # fmt: skip
    movement = Movement.objects.get(slug="row")
    for station, rounds in ((1, 5), (2, 3)):
        LogEntry.objects.create(
            log=log, station=station, movement=movement, rounds=rounds, dose=10, asked_rounds=5, asked_dose=10
        )
    [one] = library()
    assert (one.used, one.last) == (1, week.starts_on)
    assert str(one.went) == "held 50 %, RPE 7"


def test_the_library_asks_no_more_queries_for_more_circuits(furnished):
    gym.planned_week(gym.this_monday() - timedelta(days=7), gym.circuit())
    with CaptureQueriesContext(connection) as few:
        library()
    gym.planned_week(gym.this_monday() - timedelta(days=14), *[gym.circuit() for _ in range(5)])
    with CaptureQueriesContext(connection) as many:
        assert len(library()) == 6
    assert len(many) == len(few)


def test_staff_see_the_week_and_cannot_change_it(week, staff_client):
    page = staff_client.get(reverse("sessions:week", args=[MONDAY])).content.decode()
    assert "kcal row" in page
    assert "data-tick" not in page
    assert staff_client.post(reverse("sessions:planned-take-off"), {"session": first(week).key}).status_code == 403


def test_a_copy_keeps_the_rounds_of_the_day_and_what_is_set_by_hand_in_its_parts(week, coach):
    session = first(week)
    PlannedSession.objects.filter(pk=session.pk).update(rotations=9)
    parts_write(of=session, parts=gym.class_parts(session.circuit))
    strength = session.parts.get(kind="strength")
    [athlete] = gym.people(1)
    Pin.objects.create(session_key=strength.key, athlete=athlete, station=1, reason="rests", made_by=coach)
    originals = PlannedSession.objects.filter(pk=session.pk)
    into, key = week_ensure(MONDAY + timedelta(days=7)), uuid4()
    [copied] = sessions_copy(originals=originals, into=into, key=key, along=Copied(by_hand=True))
    assert sessions_copy(originals=originals, into=into, key=key, along=Copied(by_hand=True)) == []
    assert copied.rotations == 9
    assert Pin.objects.filter(session_key=copied.parts.get(kind="strength").key).count() == 1


@pytest.mark.parametrize("day", ["0026-12-07", "2150-01-01", "1999-12-31"])
def test_a_slip_in_the_year_moves_and_copies_nothing(week, coach_client, day):
    session = first(week)
    coach_client.post(reverse("sessions:planned-move", args=[session.pk]), {"day": day})
    sent = {"key": uuid4(), "week": MONDAY, "into": day, "session": [session.key]}
    answer = coach_client.post(reverse("sessions:planned-copy"), sent, follow=True)
    assert answer.status_code == 200
    session.refresh_from_db()
    assert session.date == MONDAY
    assert PlannedSession.objects.count() == 2


def test_what_is_taken_off_has_no_room(week, coach_client):
    session = first(week)
    coach_client.post(reverse("sessions:planned-take-off"), {"session": session.key, "week": MONDAY})
    assert coach_client.get(reverse("sessions:room", args=[session.pk])).status_code == 404
