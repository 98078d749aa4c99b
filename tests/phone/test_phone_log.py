"""The log as a plain form: for phones without scripts, safe to send twice."""

import re
from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client

from athletes.gym.read import today
from athletes.links.write import link_issue
from athletes.models import Athlete, Link
from sessions.logs.write import log_write
from sessions.models import Log, Target
from tests import gym
from tests.conftest import publish
from tests.phones import at, open_page, phone_of


@pytest.fixture
def week(furnished, coach):
    """A session on every day of last week and of this one."""
    gym.people(2)
    circuit = gym.circuit()
    for back in (7, 0):
        monday = gym.this_monday() - timedelta(days=back)
        publication = publish(gym.planned_week(monday, *[circuit] * 7), coach, day=monday)
    return publication


@pytest.fixture
def athlete(week) -> Athlete:
    return Athlete.objects.first()


@pytest.fixture
def link(athlete) -> Link:
    return link_issue(athlete=athlete, by=None)


@pytest.fixture
def client(link) -> Client:
    return phone_of(link)


@pytest.fixture
def address(link) -> str:
    return at(link, "phone-log")


def fields_of(page: str, day) -> dict:
    """What a browser would send of the session of `day`, if it is the one that is open."""
    group = re.search(rf'<fieldset class="phone-did"[^>]*data-date="{day}".*?</fieldset>', page, re.DOTALL)[0]
    assert "disabled" not in group[: group.index(">")]
    return dict(re.findall(r'name="([^"]+)"[^>]*?value="([^"]*)"', group))


def open_form(client: Client, address: str, day=None) -> dict:
    day = day or today()
    session = Log._meta.get_field("session").related_model.objects.filter(date=day).latest("publication_id")
    page = client.get(f"{address}?on={day}.{session.key}").content.decode()
    return fields_of(page, day)


def test_before_the_first_session_there_is_nothing_to_log_yet(furnished, coach):
    gym.people(1)
    publish(gym.planned_week(), coach)  # next week
    answer = open_page(link_issue(athlete=Athlete.objects.get(), by=None), "phone-log")
    assert answer.status_code == 200
    assert "still to come" in answer.content.decode()


def test_everything_as_planned_is_set_before_anything_is_typed(client, address, week, athlete):
    fields = open_form(client, address)
    assert client.post(address, {**fields, "rpe": "7"}).status_code == 302
    log = Log.objects.get()
    assert (log.date, log.rpe, log.pain, log.source) == (today(), 7.0, False, "phone")
    targets = {t.station: t.dose for t in Target.objects.filter(session=log.session, athlete=athlete, rung__gte=0)}
    assert {entry.station: entry.dose for entry in log.entries.all()} == targets
    assert {entry.rounds for entry in log.entries.all()} == {5}


def test_a_form_sent_twice_is_kept_once_and_a_changed_one_takes_its_place(client, address):
    fields = {**open_form(client, address), "rpe": "7"}
    for _ in range(3):
        assert client.post(address, fields).status_code == 302
    assert Log.objects.count() == 1
    assert client.post(address, {**fields, "rpe": "8", "pain": "on"}).status_code == 302  # after going back
    assert [log.rpe for log in Log.objects.filter(replaced=False)] == [8.0]
    assert Log.objects.count() == 2


def test_what_was_logged_is_there_to_be_corrected_and_changed_back(client, address):
    fields = open_form(client, address)
    client.post(address, {**fields, "rpe": "7", "rounds-1": "3", "note": "grip gave out"})
    again = open_form(client, address)
    page = client.get(address).content.decode()
    assert again["rounds-1"] == "3"
    assert "grip gave out" in page
    assert "Logged, RPE 7." in page
    client.post(address, {**again, "rpe": "8"})
    client.post(address, {**open_form(client, address), "rpe": "7"})
    assert Log.objects.get(replaced=False).rpe == 7.0


def test_the_other_pages_say_that_it_is_logged(client, address):
    home = address.removesuffix("log/")
    assert "Not logged yet." in client.get(home).content.decode()
    client.post(address, {**open_form(client, address), "rpe": "6"})
    assert "Logged, RPE 6." in client.get(home).content.decode()
    assert "Logged, RPE 6." in client.get(f"{home}week/").content.decode()


def test_last_week_can_be_logged_and_tomorrow_cannot(client, address, week):
    day = gym.this_monday() - timedelta(days=1)
    assert client.post(address, open_form(client, address, day)).status_code == 302
    assert Log.objects.get().date == day
    assert Log.objects.get().rpe is None
    page = client.get(address).content.decode()
    later = re.findall(r'data-date="([\d-]+)"[^>]*hidden disabled>.*?name="mark" value="([^"]+)"', page, re.DOTALL)
    marks = {mark for found, mark in later if found > today().isoformat()}
    for mark in marks:
        answer = client.post(address, {"mark": mark, "rpe": "5"})
        assert answer.status_code == 422
        assert "Log it from its day on." in answer.content.decode()
    assert bool(marks) == (today() < gym.this_monday() + timedelta(days=6))


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"rounds-1": "11"}, "Rounds of Row"),
        ({"dose-1": "900"}, "Each round of Row"),
        ({"dose-1": ""}, "Each round of Row"),
        ({"rpe": "12"}, "RPE: Select a valid choice"),
        ({"mark": "made up"}, "Load it again"),
    ],
)
def test_a_figure_that_does_not_fit_is_said_and_what_was_typed_stays(client, address, typed, sentence):
    answer = client.post(address, {**open_form(client, address), "rpe": "4", "note": "grip gave out", **typed})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in page
    assert "grip gave out</textarea>" in page
    assert not Log.objects.exists()


def test_the_form_takes_what_the_service_takes_and_no_more(client, address, athlete, week):
    fields = open_form(client, address)
    page = client.get(address).content.decode()
    most = dict(re.findall(r'name="((?:rounds|dose)-1)"[^>]*max="([\d.]+)"', fieldset(page)))
    assert client.post(address, {**fields, **most}).status_code == 302
    log = Log.objects.get()
    for name in ("rounds", "dose"):
        entry = {"station": 1, "rounds": 5, "dose": 10.0} | {name: float(most[f"{name}-1"]) + 1}
        said = {"key": uuid4(), "rpe": None, "pain": False, "stopped": False, "note": "", "entries": [entry]}
        with pytest.raises(Exception, match="check the figures"):
            log_write(athlete=athlete, session=log.session, content={**said, "done_at": log.done_at}, source="phone")


def fieldset(page: str) -> str:
    return re.search(rf'<fieldset class="phone-did"[^>]*data-date="{today()}".*?</fieldset>', page, re.DOTALL)[0]


def test_loads_stand_as_they_are_written_on_the_bar(client, athlete, address):
    """A bar of kilograms is logged in kilograms by whoever thinks in pounds."""
    Athlete.objects.filter(pk=athlete.pk).update(load_unit="lb")
    fields = open_form(client, address)
    load_kg = Target.objects.get(athlete=athlete, station=3, session__date=today()).load_kg
    assert fields["load-3"] == f"{load_kg:g}"
    client.post(address, fields)
    assert Log.objects.get().entries.get(station=3).load_kg == load_kg
    client.post(address, {**open_form(client, address), "load-3": "20"})
    assert Log.objects.get(replaced=False).entries.get(station=3).load_kg == 20


def test_nothing_published_says_whom_to_ask(furnished):
    [athlete] = gym.people(1)
    page = open_page(link_issue(athlete=athlete, by=None), "phone-log")
    assert "There is nothing to log" in page.content.decode()
