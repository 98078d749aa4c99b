from datetime import date, time, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from athletes.gym import read as gym_selectors
from athletes.gym.read import today
from athletes.models import Gym
from sessions.models import PlannedSession, Publication, Week
from sessions.urls import WeekConverter
from sessions.weeks.read import content_hash, content_of, monday_of
from sessions.weeks.write import session_plan, week_ensure
from tests import gym

MONDAY = date(2026, 11, 23)


# ISO 8601: the week with the year's first Thursday is week 1; 2026 has 53 weeks (common practice: any calendar).
@pytest.mark.parametrize(
    ("text", "monday"),
    [
        ("2026-W48", MONDAY),
        ("2026-W53", date(2026, 12, 28)),
        ("2027-W01", date(2027, 1, 4)),
        ("2026-W01", date(2025, 12, 29)),
    ],
)
def test_weeks_are_named_by_iso_8601(text, monday):
    assert WeekConverter().to_python(text) == monday
    assert WeekConverter().to_url(monday) == text
    assert str(Week(starts_on=monday)) == text


def test_a_week_that_does_not_exist_is_no_page(gym_row, coach_client):
    assert coach_client.get("/weeks/2025-W53/").status_code == 404


def test_the_database_refuses_a_week_that_starts_on_a_tuesday(db):
    with pytest.raises(IntegrityError), transaction.atomic():
        Week.objects.create(starts_on=MONDAY + timedelta(days=1))


@pytest.mark.parametrize("sunday", [date(2026, 3, 29), date(2026, 10, 25)])  # summer time begins and ends in the EU
def test_a_day_with_a_clock_change_has_its_session(furnished, sunday, monkeypatch):
    week = gym.planned_week(monday_of(sunday), *[gym.circuit()] * 7)
    session = week.sessions.get(weekday=6)
    assert session.date == sunday
    assert [hour.starts_at for hour in session.hours.all()] == [time(6), time(18, 30)]
    zone = Gym.objects.get().zone
    late = sunday.strftime("%Y-%m-%dT23:30")
    from datetime import datetime

    moment = datetime.fromisoformat(late).replace(tzinfo=zone)
    monkeypatch.setattr(gym_selectors.timezone, "now", lambda: moment.astimezone(ZoneInfo("UTC")))
    assert today() == sunday


def test_the_coach_plans_changes_and_takes_off(furnished, coach_client):
    circuit = gym.circuit()
    fields = {"key": str(uuid4()), "weekday": "2", "circuit": circuit.pk, "hours": "18:30, 6:00", "intent": "easy"}
    url = reverse("sessions:planned-create", args=[MONDAY])
    assert coach_client.post(url, fields).status_code == 302
    assert coach_client.post(url, fields).status_code == 302  # sent twice, planned once
    planned = PlannedSession.objects.get()
    assert [hour.starts_at for hour in planned.hours.all()] == [time(6), time(18, 30)]
    change = reverse("sessions:planned-change", args=[planned.pk])
    coach_client.post(change, {**fields, "hours": "07:00", "intent": "hard", "version": planned.version})
    planned.refresh_from_db()
    assert (planned.intent, [hour.starts_at for hour in planned.hours.all()]) == ("hard", [time(7)])
    coach_client.post(reverse("sessions:planned-take-off"), {"session": planned.key, "week": MONDAY})
    assert not PlannedSession.objects.standing().exists()


def test_a_class_time_that_is_none_keeps_what_was_typed(furnished, coach_client):
    circuit = gym.circuit()
    fields = {"weekday": "2", "circuit": circuit.pk, "hours": "6:00, noon", "intent": "easy"}
    page = coach_client.post(reverse("sessions:planned-create", args=[MONDAY]), fields).content.decode()
    assert "“noon” is no time of day" in page
    assert 'value="6:00, noon"' in page
    assert not PlannedSession.objects.exists()


def test_publishing_an_empty_week_says_what_to_do(furnished, coach_client):
    answer = coach_client.post(reverse("sessions:publish", args=[MONDAY]), follow=True)
    assert "Add one, then publish" in answer.content.decode()
    assert not Publication.objects.exists()


def test_publishing_sends_the_id_only_after_the_commit(
    furnished, coach_client, django_capture_on_commit_callbacks, monkeypatch
):
    sent = []
    monkeypatch.setattr("sessions.publishing.write.send", lambda *job: sent.append(job))
    gym.people(1)
    gym.planned_week(MONDAY)
    with django_capture_on_commit_callbacks(execute=True):
        answer = coach_client.post(reverse("sessions:publish", args=[MONDAY]))
        assert sent == []
    publication = Publication.objects.get()
    assert sent == [("sessions.publish", publication.pk)]
    assert answer.url == reverse("sessions:publication", args=[publication.pk])
    page = coach_client.get(answer.url).content.decode()
    assert "waiting for the worker" in page.lower()
    progress = coach_client.get(reverse("sessions:publication-progress", args=[publication.pk]))
    assert "HX-Refresh" not in progress
    Publication.objects.update(state="live")
    assert coach_client.get(progress.request["PATH_INFO"])["HX-Refresh"] == "true"


def test_a_weeks_content_is_the_same_until_something_changes(furnished):
    week = gym.planned_week(MONDAY)
    settings = Gym.objects.get()
    before = content_hash(content_of(week, settings))
    assert content_hash(content_of(Week.objects.get(), settings)) == before
    planned = week.sessions.get()
    planned.note = "bring tape"
    session_plan(planned=planned, hours=[time(6)])
    assert content_hash(content_of(week, settings)) != before


def test_the_home_page_shows_this_week_and_next(furnished, staff_client):
    gym.planned_week(gym.this_monday())
    page = staff_client.get("/").content.decode()
    assert "Mill race" in page
    assert "Nothing is planned yet" in page  # next week
    assert week_ensure(monday_of(today())).sessions.count() == 1
