"""The calendar feed, read back by a library that did not write it, and the open page of a class."""

from datetime import UTC, datetime, timedelta

import pytest
import vobject
from django.test import Client

from athletes.links.write import link_issue, link_revoke
from athletes.models import Athlete, Gym
from sessions.models import PublishedSession
from tests import gym
from tests.conftest import publish


@pytest.fixture
def session(live_week) -> PublishedSession:
    return live_week.sessions.get()


def link_of(athlete: Athlete):
    return link_issue(athlete=athlete, by=None)


def calendar(athlete: Athlete):
    answer = Client().get(f"/a/{link_of(athlete).token}/sessions.ics")
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    return answer.content.decode(), vobject.readOne(answer.content.decode())


def test_the_feed_is_a_valid_calendar_with_an_event_for_each_class_time(session):
    text, found = calendar(Athlete.objects.first())
    assert found.validate()
    events = found.vevent_list
    assert len(events) == 2
    assert [event.dtstart.value for event in events] == [
        datetime(session.date.year, session.date.month, session.date.day, hour, minute, tzinfo=UTC)
        for hour, minute in ((6, 0), (18, 30))  # Lisbon in winter is UTC
    ]
    assert events[0].dtend.value - events[0].dtstart.value == timedelta(minutes=15)
    assert events[0].summary.value == "Mill race (hard)"
    assert "1 Row: " in events[0].description.value
    assert "Stop on pain" in events[0].description.value
    assert len({event.uid.value for event in events}) == 2
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))  # RFC 5545, 3.1: lines are folded at 75 octets
    assert "\n" not in text.replace("\r\n", "")  # and end in CRLF


def test_summer_time_is_the_gyms_own(furnished, coach):
    Gym.objects.update(time_zone="Europe/Berlin")
    gym.people(1)
    monday = datetime(2026, 10, 19).date()  # the clocks go back on Sunday, 25 October 2026
    publish(gym.planned_week(monday), coach, day=monday)
    publish(gym.planned_week(monday + timedelta(days=7)), coach, day=monday)
    from sessions.calendar.feed import feed
    from sessions.calendar.read import sessions_of

    athlete = Athlete.objects.get()
    text = feed("x", Gym.objects.get().zone, sessions_of(athlete, monday), "https://gym.test/").decode()
    starts = sorted(event.dtstart.value for event in vobject.readOne(text).vevent_list)
    assert [f"{start:%m-%d %H:%M}" for start in starts] == ["10-19 04:00", "10-19 16:30", "10-26 05:00", "10-26 17:30"]


def test_a_session_that_is_published_again_keeps_its_event(session, coach):
    athlete = Athlete.objects.first()
    before = calendar(athlete)[1].vevent_list
    publish(session.publication.week, coach)
    after = calendar(athlete)[1].vevent_list
    assert [event.uid.value for event in before] == [event.uid.value for event in after]
    assert [int(event.sequence.value) for event in (before[0], after[0])] == [1, 2]


def test_a_revoked_link_opens_no_calendar(session):
    athlete = Athlete.objects.first()
    token = link_of(athlete).token
    link_revoke(athlete=athlete, by=None)
    assert Client().get(f"/a/{token}/sessions.ics").status_code == 410


def test_the_page_of_a_class_needs_no_key_and_names_nobody(session):
    page = Client().get(f"/class/{session.key}/{session.date}/").content.decode()
    assert "Mill race" in page
    assert "15 kcal" in page
    assert not any(athlete.name in page or athlete.board_name in page for athlete in Athlete.objects.all())
    assert Client().get(f"/class/{session.key}/2026-01-01/").status_code == 404


def test_the_feed_costs_a_constant_number_of_queries(session, django_assert_max_num_queries):
    token = link_of(Athlete.objects.first()).token
    with django_assert_max_num_queries(5):
        Client().get(f"/a/{token}/sessions.ics")
