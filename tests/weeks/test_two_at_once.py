"""Two tabs or two coaches on one session: the second save is refused and shows both; notes belong to their circuit."""

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from sessions.models import PlannedSession
from sessions.weeks.write import session_move, session_plan, sessions_take_off
from tests import gym


@pytest.fixture
def session(furnished) -> PlannedSession:
    gym.planned_week()
    session = PlannedSession.objects.get()
    session.note = "skip, then hips"
    session.save()
    return session


def fields_of(session: PlannedSession, **more) -> dict:
    return {
        "weekday": session.weekday, "circuit": session.circuit_id, "hours": "06:00", "intent": session.intent,
        "note": session.note, "version": session.version, **more,
    }  # fmt: skip


def test_the_second_save_is_refused_shows_both_and_loses_nothing(session, coach_client):
    url = reverse("sessions:planned-change", args=[session.pk])
    mine, theirs = fields_of(session, intent="easy"), fields_of(session, intent="steady", weekday=3)
    assert coach_client.post(url, theirs).status_code == 302
    page = coach_client.post(url, mine).content.decode()
    assert "Somebody changed this session meanwhile. It says now: Thursday, Mill race, 06:00, steady" in page
    assert '<option value="easy" selected>' in page  # what was typed stands
    session.refresh_from_db()
    assert session.intent == "steady"
    assert f'name="version" value="{session.version}"' in page
    assert coach_client.post(url, {**mine, "version": session.version}).status_code == 302
    session.refresh_from_db()
    assert session.intent == "easy"


def test_a_warm_up_is_asked_about_when_its_circuit_changes(session, coach_client):
    url = reverse("sessions:planned-change", args=[session.pk])
    other = gym.circuit({**gym.DOCUMENT, "name": "Flume"})
    page = coach_client.post(url, fields_of(session, circuit=other.pk)).content.decode()
    assert "This was written for another circuit" in page
    session.refresh_from_db()
    assert session.circuit.name == "Mill race"
    assert coach_client.post(url, fields_of(session, circuit=other.pk, note_stays="on")).status_code == 302
    session.refresh_from_db()
    assert (session.circuit.name, session.note) == ("Flume", "skip, then hips")
    third = gym.circuit({**gym.DOCUMENT, "name": "Sluice"})
    changed = fields_of(session, circuit=third.pk, note="row easy")
    assert coach_client.post(url, changed).status_code == 302


def test_of_two_who_read_the_same_only_one_writes(session):
    mine, theirs = (PlannedSession.objects.select_related("week").get() for _ in range(2))
    theirs.intent = "steady"
    session_plan(planned=theirs, hours=[])
    mine.intent = "easy"
    with pytest.raises(ValidationError, match="Somebody changed this session"):
        session_plan(planned=mine, hours=[])
    with pytest.raises(ValidationError, match="Somebody changed this session"):
        session_move(planned=mine, day=gym.this_monday())
    assert PlannedSession.objects.get().intent == "steady"


def test_a_save_does_not_bring_back_what_was_taken_off(session):
    sessions_take_off([session.key])
    session.intent = "easy"
    with pytest.raises(ValidationError, match="Somebody changed this session"):
        session_plan(planned=session, hours=[])
    assert not PlannedSession.objects.standing().exists()


def test_a_save_that_names_no_version_is_asked_again(session, coach_client):
    fields = fields_of(session, intent="easy")
    del fields["version"]
    page = coach_client.post(reverse("sessions:planned-change", args=[session.pk]), fields).content.decode()
    assert "Somebody changed this session meanwhile" in page
