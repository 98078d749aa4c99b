"""The open last round where it is asked: on the phone's plain form and on the floor."""

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from athletes.estimates.write import estimates_refresh
from athletes.gym.read import today
from athletes.links.write import link_issue
from athletes.models import Athlete, Benchmark, Effort, Link, Movement
from sessions.models import Log, LogEntry, PublishedSession
from tests import gym
from tests.conftest import publish
from tests.logs.test_logs import OPEN
from tests.phones import at, phone_of

ASKED = "Last round: how far did it go?"


@pytest.fixture
def session(furnished, coach) -> PublishedSession:
    rows = Benchmark.objects.create(
        name="Ring rows", slug="rows", movement=Movement.objects.get(slug="ring-row"), measure="repetitions"
    )
    day = today() - timedelta(days=90)
    for athlete in gym.people(2):
        Effort.objects.create(athlete=athlete, benchmark=rows, value=20, typed="20", performed_on=day)
    estimates_refresh()
    week = gym.planned_week(gym.this_monday(), *[gym.circuit(OPEN)] * 7)
    return publish(week, coach, day=gym.this_monday()).sessions.get(date=today())


@pytest.fixture
def athlete(session) -> Athlete:
    return Athlete.objects.first()


@pytest.fixture
def link(athlete) -> Link:
    return link_issue(athlete=athlete, by=None)


@pytest.fixture
def client(link) -> Client:
    return phone_of(link)


@pytest.fixture
def phone(session, link) -> str:
    return f"{at(link, 'phone-log')}?on={today()}.{session.key}"


@pytest.fixture
def floor(session, athlete) -> str:
    return f"{reverse('sessions:floor-log-detail', args=[session.pk, athlete.pk])}?hour=06:00"


def on_phone(client: Client, address: str) -> dict:
    """What a browser would send of today's session."""
    page = client.get(address).content.decode()
    group = re.search(rf'<fieldset class="phone-did"[^>]*data-date="{today()}".*?</fieldset>', page, re.DOTALL)[0]
    assert ASKED in group
    return dict(re.findall(r'name="([^"]+)"[^>]*?value="([^"]*)"', group))


def on_floor(client: Client, address: str) -> dict:
    form = client.get(address).context["form"]
    return {field.html_name: field.value() for field in form if field.value() not in (None, False)}


def test_the_phone_asks_and_keeps_what_is_said(client, phone):
    fields = on_phone(client, phone)
    assert fields["last-1"] == ""
    assert client.post(phone, {**fields, "last-1": "14", "rpe": "8"}).status_code == 302
    assert LogEntry.objects.get().open_last == 14
    assert on_phone(client, phone)["last-1"] == "14"  # to be corrected


def test_nobody_has_to_say_it(client, phone):
    assert client.post(phone, on_phone(client, phone)).status_code == 302
    assert LogEntry.objects.get().open_last is None


def test_what_cannot_be_is_said_in_words(client, phone):
    answer = client.post(phone, {**on_phone(client, phone), "last-1": "400"})
    assert answer.status_code == 422
    assert "Last round of Ring row" in answer.content.decode()


def test_the_floor_asks_and_keeps_it_too(staff_client, floor):
    assert ASKED in staff_client.get(floor).content.decode()
    sent = on_floor(staff_client, floor)
    assert "is kept" in staff_client.post(floor, {**sent, "last-1": 13}, follow=True).content.decode()
    assert LogEntry.objects.get().open_last == 13
    assert on_floor(staff_client, floor)["last-1"] == 13


def test_first_weeks_are_not_asked_and_begin_with_their_own_rounds(furnished, coach, staff_client):
    [new] = gym.people(1)
    Athlete.objects.filter(pk=new.pk).update(joined_on=today())
    week = gym.planned_week(gym.this_monday(), *[gym.circuit(OPEN)] * 7)
    session = publish(week, coach).sessions.get(date=today())
    own = session.targets.get(athlete=new).rounds
    assert own < 6
    address = f"{reverse('sessions:floor-log-detail', args=[session.pk, new.pk])}?hour=06:00"
    assert ASKED not in staff_client.get(address).content.decode()
    sent = on_floor(staff_client, address)
    assert sent["rounds-1"] == own
    staff_client.post(address, sent)
    entry = Log.objects.get().entries.get()
    assert (entry.rounds, entry.asked_rounds) == (own, own)
