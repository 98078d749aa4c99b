"""The log as a plain form: for phones without scripts, safe to send twice."""

import re
from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from athletes.gym.read import today
from athletes.links.write import link_issue
from athletes.models import Athlete
from sessions.logs.write import log_write
from sessions.models import Log, Target
from tests import gym
from tests.conftest import publish


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
def address(athlete) -> str:
    return reverse("sessions:phone-log", args=[link_issue(athlete=athlete, by=None).token])


def fields_of(page: str, day) -> dict:
    """What a browser would send of the session of `day`, if it is the one that is open."""
    group = re.search(rf'<fieldset class="phone-did"[^>]*data-date="{day}".*?</fieldset>', page, re.DOTALL)[0]
    assert "disabled" not in group[: group.index(">")]
    return dict(re.findall(r'name="([^"]+)"[^>]*?value="([^"]*)"', group))


def open_form(address: str, day=None) -> dict:
    day = day or today()
    session = Log._meta.get_field("session").related_model.objects.filter(date=day).latest("publication_id")
    page = Client().get(f"{address}?on={day}.{session.key}").content.decode()
    return fields_of(page, day)


def test_before_the_first_session_there_is_nothing_to_log_yet(furnished, coach):
    gym.people(1)
    publish(gym.planned_week(), coach)  # next week
    token = link_issue(athlete=Athlete.objects.get(), by=None).token
    answer = Client().get(reverse("sessions:phone-log", args=[token]))
    assert answer.status_code == 200
    assert "still to come" in answer.content.decode()


def test_everything_as_planned_is_set_before_anything_is_typed(address, week, athlete):
    fields = open_form(address)
    assert Client().post(address, {**fields, "rpe": "7"}).status_code == 302
    log = Log.objects.get()
    assert (log.date, log.rpe, log.pain, log.source) == (today(), 7.0, False, "phone")
    targets = {t.station: t.dose for t in Target.objects.filter(session=log.session, athlete=athlete, rung__gte=0)}
    assert {entry.station: entry.dose for entry in log.entries.all()} == targets
    assert {entry.rounds for entry in log.entries.all()} == {5}


def test_a_form_sent_twice_is_kept_once_and_a_changed_one_takes_its_place(address):
    fields = {**open_form(address), "rpe": "7"}
    for _ in range(3):
        assert Client().post(address, fields).status_code == 302
    assert Log.objects.count() == 1
    assert Client().post(address, {**fields, "rpe": "8", "pain": "on"}).status_code == 302  # after going back
    assert [log.rpe for log in Log.objects.filter(replaced=False)] == [8.0]
    assert Log.objects.count() == 2


def test_what_was_logged_is_there_to_be_corrected_and_changed_back(address):
    fields = open_form(address)
    Client().post(address, {**fields, "rpe": "7", "rounds-1": "3", "note": "grip gave out"})
    again = open_form(address)
    page = Client().get(address).content.decode()
    assert again["rounds-1"] == "3"
    assert "grip gave out" in page
    assert "Logged, RPE 7." in page
    Client().post(address, {**again, "rpe": "8"})
    Client().post(address, {**open_form(address), "rpe": "7"})
    assert Log.objects.get(replaced=False).rpe == 7.0


def test_the_other_pages_say_that_it_is_logged(address):
    home = address.removesuffix("log/")
    assert "Not logged yet." in Client().get(home).content.decode()
    Client().post(address, {**open_form(address), "rpe": "6"})
    assert "Logged, RPE 6." in Client().get(home).content.decode()
    assert "Logged, RPE 6." in Client().get(f"{home}week/").content.decode()


def test_last_week_can_be_logged_and_tomorrow_cannot(address, week):
    day = gym.this_monday() - timedelta(days=1)
    assert Client().post(address, open_form(address, day)).status_code == 302
    assert Log.objects.get().date == day
    assert Log.objects.get().rpe is None
    page = Client().get(address).content.decode()
    later = re.findall(r'data-date="([\d-]+)"[^>]*hidden disabled>.*?name="mark" value="([^"]+)"', page, re.DOTALL)
    marks = {mark for found, mark in later if found > today().isoformat()}
    for mark in marks:
        answer = Client().post(address, {"mark": mark, "rpe": "5"})
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
def test_a_figure_that_does_not_fit_is_said_and_what_was_typed_stays(address, typed, sentence):
    answer = Client().post(address, {**open_form(address), "rpe": "4", "note": "grip gave out", **typed})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in page
    assert "grip gave out</textarea>" in page
    assert not Log.objects.exists()


def test_the_form_takes_what_the_service_takes_and_no_more(address, athlete, week):
    fields = open_form(address)
    page = Client().get(address).content.decode()
    most = dict(re.findall(r'name="((?:rounds|dose)-1)"[^>]*max="([\d.]+)"', fieldset(page)))
    assert Client().post(address, {**fields, **most}).status_code == 302
    log = Log.objects.get()
    for name in ("rounds", "dose"):
        entry = {"station": 1, "rounds": 5, "dose": 10.0} | {name: float(most[f"{name}-1"]) + 1}
        said = {"key": uuid4(), "rpe": None, "pain": False, "stopped": False, "note": "", "entries": [entry]}
        with pytest.raises(Exception, match="check the figures"):
            log_write(athlete=athlete, session=log.session, content={**said, "done_at": log.done_at}, source="phone")


def fieldset(page: str) -> str:
    return re.search(rf'<fieldset class="phone-did"[^>]*data-date="{today()}".*?</fieldset>', page, re.DOTALL)[0]


def test_loads_stand_as_they_are_written_on_the_bar(athlete, address):
    """A bar of kilograms is logged in kilograms by whoever thinks in pounds."""
    Athlete.objects.filter(pk=athlete.pk).update(load_unit="lb")
    fields = open_form(address)
    load_kg = Target.objects.get(athlete=athlete, station=3, session__date=today()).load_kg
    assert fields["load-3"] == f"{load_kg:g}"
    Client().post(address, fields)
    assert Log.objects.get().entries.get(station=3).load_kg == load_kg
    Client().post(address, {**open_form(address), "load-3": "20"})
    assert Log.objects.get(replaced=False).entries.get(station=3).load_kg == 20


def test_nothing_published_says_whom_to_ask(furnished):
    [athlete] = gym.people(1)
    page = Client().get(reverse("sessions:phone-log", args=[link_issue(athlete=athlete, by=None).token]))
    assert "There is nothing to log" in page.content.decode()
