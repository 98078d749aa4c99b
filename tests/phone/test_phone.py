import json
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from athletes.gym.read import today
from athletes.links.write import link_issue, link_revoke
from athletes.models import Athlete, Effort
from sessions.boards import files
from sessions.weeks.read import monday_of
from tests import gym, phones
from tests.conftest import publish


@pytest.fixture
def today_week(furnished, coach):
    """A published week with a session on every day, so that today has one."""
    gym.people(3)
    circuit = gym.circuit()
    return publish(gym.planned_week(gym.this_monday(), *[circuit] * 7), coach)


def open_page(athlete, name="phone"):
    return phones.open_page(link_issue(athlete=athlete, by=None), name)


def test_an_athlete_sees_todays_dose_pace_second_and_cues_without_a_password(today_week):
    athlete = Athlete.objects.first()
    page = open_page(athlete).content.decode()
    target = today_week.targets.get(athlete=athlete, station=1, session__date=today())
    assert "<b>Today <span data-hour>" in page
    assert f'<b class="figure">{target.dose:.0f}</b> <span class="unit">kcal</span>' in page
    assert "per 500 m" in page
    assert '<b class="figure">0:45</b>' in page  # finish by, in the count of the clock
    assert "Lever 4 to 8." in page
    assert "How to set up the Row." in page
    assert "chest to the bar" in page
    assert "Stop on pain, dizziness or chest discomfort" in page


def test_a_page_shows_nobody_elses_name(today_week):
    athlete, *others = Athlete.objects.all()
    for name in ("phone", "phone-week", "phone-numbers"):
        page = open_page(athlete, name).content.decode()
        assert athlete.name in page
        assert not any(other.name in page or other.board_name in page for other in others)


def test_a_revoked_link_says_what_to_do_and_a_new_one_works(today_week, staff):
    athlete = Athlete.objects.first()
    old = link_issue(athlete=athlete, by=staff).token
    new = link_issue(athlete=athlete, by=staff).token
    gone = Client().get(reverse("sessions:phone", args=[old]))
    assert gone.status_code == 410
    assert "Ask staff for your new link" in gone.content.decode()
    assert Client().get(reverse("sessions:phone", args=[new]), follow=True).status_code == 200
    assert link_revoke(athlete=athlete, by=staff) == 1
    assert Client().get(reverse("sessions:phone", args=[new])).status_code == 410


def test_an_inactive_athletes_link_is_closed(today_week):
    athlete = Athlete.objects.first()
    token = link_issue(athlete=athlete, by=None).token
    Athlete.objects.filter(pk=athlete.pk).update(active=False)
    assert Client().get(reverse("sessions:phone", args=[token])).status_code == 410


def test_a_day_without_a_session_shows_the_next_one(furnished, coach):
    gym.people(1)
    publish(gym.planned_week(monday_of(today()) + timedelta(days=7)), coach)
    page = open_page(Athlete.objects.get()).content.decode()
    assert "Next session" in page
    assert "Mill race" in page


def test_nothing_published_says_so(furnished):
    [athlete] = gym.people(1)
    assert "is published for the coming days" in open_page(athlete).content.decode()
    assert "Nothing is published for you yet" in open_page(athlete, "phone-week").content.decode()


def test_an_athlete_who_came_after_publishing_is_told_to_wait(today_week):
    [late] = gym.people(1, tested=False)
    page = open_page(late)
    assert page.status_code == 200
    assert "Ask a coach" in page.content.decode()


def test_my_numbers_shows_efforts_that_stand_and_their_firmness(today_week):
    athlete = Athlete.objects.first()
    page = open_page(athlete, "phone-numbers").content.decode()
    assert "7:00.0" in page
    assert "Rowing ergometer" in page
    Effort.objects.filter(athlete=athlete).update(voided_at="2026-01-01T00:00Z", void_reason="wrong day")
    assert "7:00.0" not in open_page(athlete, "phone-numbers").content.decode()


def test_reading_the_page_costs_at_most_six_queries(today_week, django_assert_max_num_queries):
    link = link_issue(athlete=Athlete.objects.first(), by=None)
    client = phones.phone_of(link)
    with django_assert_max_num_queries(6):
        client.get(phones.at(link))
    with django_assert_max_num_queries(6):
        client.get(phones.at(link, "phone-numbers"))


def test_the_frozen_page_is_complete_and_names_the_right_days(today_week):
    page = json.loads(files.read(today_week.pages.first().path))
    days = [session["date"] for session in page["sessions"]]
    monday = monday_of(today())
    assert days == [(monday + timedelta(days=n)).isoformat() for n in range(7)]
    assert all(session["html"].count("<tr data-station=") == 3 for session in page["sessions"])


def test_markup_in_a_cue_is_shown_not_run(furnished, coach):
    from athletes.models import Movement

    gym.people(1)
    Movement.objects.filter(slug="row").update(cue_drive="<script>alert(1)</script>")
    Movement.objects.filter(slug="bike").update(cue_drive="<script>alert(1)</script>")
    publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)
    page = open_page(Athlete.objects.get()).content.decode()
    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page
