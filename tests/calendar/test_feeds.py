"""The calendar feed, read back by a library that did not write it, and the open page of a class."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
import vobject
from django.conf import settings as project
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from athletes.links.write import link_issue, link_revoke
from athletes.models import Athlete, Gym
from sessions.models import Attendance, PublishedSession
from tests import gym
from tests.conftest import publish


@pytest.fixture
def session(live_week) -> PublishedSession:
    return live_week.sessions.get()


def link_of(athlete: Athlete):
    return link_issue(athlete=athlete, by=None)


def feed_of(link):
    return Client().get(f"/calendar/{link.calendar_token}/sessions.ics")


def calendar(athlete: Athlete):
    answer = feed_of(link_of(athlete))
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    return answer.content.decode(), vobject.readOne(answer.content.decode())


def test_the_feed_is_a_valid_calendar_with_an_event_for_each_class(session):
    """Nobody knows when they come: the whole day, with the times to choose from (RFC 5545)."""
    text, found = calendar(Athlete.objects.first())
    assert found.validate()
    [event] = found.vevent_list
    assert event.dtstart.value == session.date
    assert event.dtend.value - event.dtstart.value == timedelta(days=1)
    assert event.transp.value == "TRANSPARENT"
    assert event.summary.value == "Mill race (hard): choose 06:00, 18:30"
    assert "1 Row: " in event.description.value
    assert "Stop on pain" in event.description.value
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))  # RFC 5545, 3.1: lines are folded at 75 octets
    assert "\n" not in text.replace("\r\n", "")  # and end in CRLF


def test_the_class_that_somebody_chose_or_mostly_comes_to_is_the_one_in_their_calendar(session):
    athlete = Athlete.objects.first()
    before = [timezone.localdate() - timedelta(days=days) for days in (3, 8, 13)]
    for day, hour in zip(before, ("06:00", "18:30", "18:30"), strict=True):
        Attendance.objects.create(athlete=athlete, session_key=uuid4(), date=day, hour=hour)
    [event] = calendar(athlete)[1].vevent_list
    at = datetime(session.date.year, session.date.month, session.date.day, tzinfo=UTC)  # Lisbon in winter is UTC
    assert event.dtstart.value == at.replace(hour=18, minute=30)
    assert event.dtend.value - event.dtstart.value == timedelta(minutes=15)
    assert event.summary.value == "Mill race (hard)"
    link = link_of(athlete)
    token = link.token
    sent = {"session": str(session.key), "date": session.date.isoformat(), "hour": "06:00"}
    for _ in range(2):
        assert Client().post(f"/a/{token}/coming/", sent).status_code == (
            204 if session.date >= timezone.localdate() else 422
        )
    if session.date >= timezone.localdate():
        [event] = vobject.readOne(feed_of(link).content.decode()).vevent_list
        assert event.dtstart.value == at.replace(hour=6)
    assert Client().post(f"/a/{token}/coming/", {**sent, "hour": "07:00"}).status_code == 422


def test_summer_time_is_the_gyms_own(furnished, coach):
    Gym.objects.update(time_zone="Europe/Berlin")
    gym.people(1)
    monday = datetime(2026, 10, 19).date()  # the clocks go back on Sunday, 25 October 2026
    publish(gym.planned_week(monday), coach, day=monday)
    publish(gym.planned_week(monday + timedelta(days=7)), coach, day=monday)
    from sessions.calendar.feed import feed
    from sessions.calendar.read import sessions_of

    athlete = Athlete.objects.get()
    sessions = sessions_of(athlete, monday)
    hours = {session.pk: "18:30" for session, _ in sessions}
    text = feed("x", Gym.objects.get().zone, sessions, "https://gym.test/", hours).decode()
    starts = sorted(event.dtstart.value for event in vobject.readOne(text).vevent_list)
    assert [f"{start:%m-%d %H:%M}" for start in starts] == ["10-19 16:30", "10-26 17:30"]


def test_a_session_that_is_published_again_keeps_its_event(session, coach):
    athlete = Athlete.objects.first()
    before = calendar(athlete)[1].vevent_list
    publish(session.publication.week, coach)
    after = calendar(athlete)[1].vevent_list
    assert [event.uid.value for event in before] == [event.uid.value for event in after]
    assert [int(event.sequence.value) for event in (before[0], after[0])] == [1, 2]


def test_a_revoked_link_opens_no_calendar(session):
    athlete = Athlete.objects.first()
    link = link_of(athlete)
    link_revoke(athlete=athlete, by=None)
    assert feed_of(link).status_code == 410


def test_the_address_of_a_calendar_opens_nothing_else_and_names_no_other_key(session):
    link = link_of(Athlete.objects.first())
    for path in ("", "week/", "log/", "settings/", "clock/"):
        assert Client().get(f"/a/{link.calendar_token}/{path}").status_code == 410
    assert Client().get(f"/calendar/{link.token}/sessions.ics").status_code == 410
    headers = {"Authorization": f"Link {link.calendar_token}"}
    assert Client().get(reverse("api:my-targets"), headers=headers).status_code in (401, 403)
    text = feed_of(link).content.decode().replace("\r\n ", "")
    assert link.token not in text
    assert f"URL:{project.SITE_URL}/class/{session.key}/" in text


def test_the_page_of_a_class_needs_no_key_and_names_nobody(session):
    page = Client().get(f"/class/{session.key}/{session.date}/").content.decode()
    assert "Mill race" in page
    assert "15 kcal" in page
    assert not any(athlete.name in page or athlete.board_name in page for athlete in Athlete.objects.all())
    assert Client().get(f"/class/{session.key}/2026-01-01/").status_code == 404


def test_the_feed_costs_a_constant_number_of_queries(session, django_assert_max_num_queries):
    link = link_of(Athlete.objects.first())
    with django_assert_max_num_queries(8):
        feed_of(link)
