"""Targets set by hand: at once where the week is live, kept when it is published again, taken back exactly."""

import json
import re
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from athletes.gym.read import today
from athletes.models import Athlete, Limitation
from sessions.boards import files
from sessions.by_hand.forms import PinForm
from sessions.by_hand.live import MOVED, NUMBERS
from sessions.by_hand.many import pins_set_alike
from sessions.by_hand.write import pin_set, pin_take_off, pins_take_off
from sessions.circuits.definition import Movement, Option, Station
from sessions.models import Pin, PublishedSession, Target
from sessions.targets.detail import detail_of, read
from tests.conftest import publish

PULL_UPS = 2


@pytest.fixture
def session(live_week) -> PublishedSession:
    return live_week.sessions.get()


@pytest.fixture
def athlete(live_week) -> Athlete:
    return Athlete.objects.first()


def pin_of(session: PublishedSession, athlete: Athlete, coach, *, rung: int | None = 0, dose=11.0, **more) -> Pin:
    station = session.definition.stations[PULL_UPS - 1]
    movement = None if rung is None else station.options[rung].movement.id
    pin = Pin(
        key=more.pop("key", uuid4()),
        session_key=session.key,
        athlete=athlete,
        station=PULL_UPS,
        movement_id=movement,
        dose=dose if rung is not None else 0,
        reason="knows it well",
        made_by=coach,
        **more,
    )
    return pin_set(pin=pin, station=station)


def figures(session: PublishedSession, athlete: Athlete) -> dict[int, dict]:
    rows = Target.objects.filter(session=session, athlete=athlete)
    return {row.station: {name: getattr(row, name) for name in MOVED} for row in rows}


def page_of(session: PublishedSession, athlete: Athlete) -> str:
    page = session.publication.pages.get(athlete=athlete)
    return json.loads(files.read(page.path))["sessions"][0]["html"]


def test_a_pin_shows_at_once_and_moves_nothing_else(session, athlete, coach):
    before = figures(session, athlete)
    pin_of(session, athlete, coach)
    after = figures(session, athlete)
    assert after[PULL_UPS]["dose"] == 11
    assert read(after[PULL_UPS]["detail"]).by_hand
    assert {s: after[s] for s in after if s != PULL_UPS} == {s: before[s] for s in before if s != PULL_UPS}
    page = page_of(session, athlete)
    assert "set by your coach" in page
    assert "Set by your coach." in page
    others = Athlete.objects.exclude(pk=athlete.pk)
    assert all("set by your coach" not in page_of(session, other) for other in others)


def test_a_pin_above_what_is_written_says_honestly_what_it_leaves(session, athlete, coach):
    before = figures(session, athlete)[PULL_UPS]
    pin_of(session, athlete, coach, dose=20)
    after = figures(session, athlete)[PULL_UPS]
    assert after["headroom"] < before["headroom"]
    assert after["probability"] < before["probability"]


def test_taking_a_pin_off_brings_back_what_stood_there(session, athlete, coach):
    before = figures(session, athlete)
    first = pin_of(session, athlete, coach)
    second = pin_of(session, athlete, coach, dose=6)
    first.refresh_from_db()
    assert first.taken_off_at is not None
    pin_take_off(pin=second, by=coach)
    pin_take_off(pin=second, by=coach)
    assert figures(session, athlete) == before
    assert "by hand" not in page_of(session, athlete)


def test_a_pin_survives_another_publication(session, athlete, coach):
    pin_of(session, athlete, coach)
    again = publish(session.publication.week, coach)
    row = Target.objects.get(publication=again, athlete=athlete, station=PULL_UPS)
    assert row.dose == 11
    assert (detail_of(row).by, detail_of(row).by_why) == ("The coach", "knows it well")


def test_a_limitation_entered_after_a_pin_stands_above_it(session, athlete, coach):
    pin_of(session, athlete, coach)
    limitation = Limitation.objects.create(athlete=athlete, kind="body", starts_on=today(), patterns=["pull"])
    again = publish(session.publication.week, coach)
    row = Target.objects.get(publication=again, athlete=athlete, station=PULL_UPS)
    assert row.rung == -1
    assert not detail_of(row).by_hand
    limitation.delete()
    before = Limitation.objects.create(athlete=athlete, kind="body", starts_on=today(), patterns=["pull"])
    pin_of(again.sessions.get(), athlete, coach, dose=2)  # who sets this one knows of it
    assert before.created_at < Pin.objects.get(taken_off_at=None).made_at
    row.refresh_from_db()
    assert (row.rung, row.dose) == (0, 2)


def test_rest_can_be_set_by_hand(session, athlete, coach):
    pin_of(session, athlete, coach, rung=None)
    assert figures(session, athlete)[PULL_UPS]["rung"] == -1
    assert "Your coach set a rest here" in page_of(session, athlete)


def test_the_same_pin_twice_is_one_and_another_under_its_key_is_refused(session, athlete, coach):
    key = uuid4()
    first = pin_of(session, athlete, coach, key=key)
    assert pin_of(session, athlete, coach, key=key).pk == first.pk
    with pytest.raises(ValidationError, match="already used"):
        pin_of(session, athlete, coach, key=key, dose=5)
    assert Pin.objects.count() == 1


@pytest.mark.parametrize(("dose", "message"), [(0, "above zero"), (25, "three times")])
def test_a_dose_that_does_not_fit_is_refused(session, athlete, coach, dose, message):
    with pytest.raises(ValidationError, match=message):
        pin_of(session, athlete, coach, dose=dose)
    assert not Pin.objects.exists()


def test_a_movement_that_the_station_does_not_offer_is_refused(session, athlete, coach):
    other = session.definition.stations[0].prescribed.movement.id
    pin = Pin(session_key=session.key, athlete=athlete, station=PULL_UPS, movement_id=other, dose=3, reason="x")
    with pytest.raises(ValidationError, match="does not offer"):
        pin_set(pin=pin, station=session.definition.stations[PULL_UPS - 1])


def test_a_coach_sets_and_takes_off_on_the_page(session, athlete, coach_client):
    address = reverse("sessions:pin", args=[session.key, athlete.pk, PULL_UPS])
    assert coach_client.get(address).status_code == 200
    refused = coach_client.post(address, {"key": str(uuid4()), "rung": "0", "dose": "", "reason": "x"})
    assert "Say how much, or choose rest." in refused.content.decode()
    sent = {"key": str(uuid4()), "rung": "0", "dose": "9", "reason": "asked for it"}
    listed = coach_client.post(address, sent, follow=True).content.decode()
    assert "It shows on phone and wall at once." in listed
    assert "asked for it" in listed
    pin = Pin.objects.get()
    coach_client.post(reverse("sessions:pin-off", args=[pin.pk]))
    assert not read(figures(session, athlete)[PULL_UPS]["detail"]).by_hand


def test_a_draft_keeps_its_pins_until_it_is_published(furnished, coach, coach_client):
    from tests import gym

    gym.people(2)
    week = gym.planned_week()
    planned, athlete = week.sessions.get(), Athlete.objects.first()
    address = reverse("sessions:pin", args=[planned.key, athlete.pk, PULL_UPS])
    sent = {"key": str(uuid4()), "rung": "0", "dose": "2", "reason": "sore"}
    assert "It shows when the week is published." in coach_client.post(address, sent, follow=True).content.decode()
    room = coach_client.get(reverse("sessions:room", args=[planned.pk])).content.decode()
    assert "by hand" in room
    publication = publish(week, coach)
    assert publication.targets.get(athlete=athlete, station=PULL_UPS).dose == 2


def test_a_pin_that_was_published_gives_way_to_the_method_when_it_is_taken_off(session, athlete, coach):
    method = figures(session, athlete)[PULL_UPS]
    pin_of(session, athlete, coach, dose=15)
    again = publish(session.publication.week, coach).sessions.get()
    other = pin_of(again, athlete, coach, dose=16)
    pin_take_off(pin=other, by=coach)
    now = figures(again, athlete)[PULL_UPS]
    assert not read(now["detail"]).by_hand
    assert now["dose"] <= method["dose"] + 1
    assert "by hand" not in page_of(again, athlete)


def first_contents(page: str, name: str) -> str:
    [field] = [tag for tag in re.findall(r"<input[^>]*>", page) if f'name="{name}"' in tag and "radio" not in tag]
    return (re.search(r'value="([^"]*)"', field) or [None, ""])[1]


def test_the_form_begins_with_what_the_athlete_would_do(session, athlete, coach_client):
    address = reverse("sessions:pin", args=[session.key, athlete.pk, PULL_UPS])
    target = Target.objects.get(session=session, athlete=athlete, station=PULL_UPS)
    page = coach_client.get(address).content.decode()
    assert float(first_contents(page, "dose")) == target.dose
    assert re.search(rf'value="{target.rung}"[^>]*checked', page)
    assert "Needed, unless you choose rest." in page


def test_in_a_draft_the_form_begins_with_what_the_preview_says(furnished, coach_client):
    from tests import gym

    gym.people(1)
    planned, athlete = gym.planned_week().sessions.get(), Athlete.objects.first()
    page = coach_client.get(reverse("sessions:pin", args=[planned.key, athlete.pk, 1])).content.decode()
    assert float(first_contents(page, "dose")) > 0


def test_a_load_that_was_left_as_it_was_does_not_go_along_to_another_rung():
    squat = Movement(id=1, name="Squat", slug="squat", kind="loaded")
    ladder = tuple(Option(squat, "load_repetitions", 8, 4, kg) for kg in (40, 16))
    sent = {"key": str(uuid4()), "began": "0 24.0", "dose": "8", "load_kg": "24", "reason": "x"}
    for rung, load in (("0", 24), ("1", 16)):
        form = PinForm({**sent, "rung": rung}, station=Station(1, 40, ladder))
        assert form.is_valid(), form.errors
        assert form.pin(session_key=uuid4(), athlete=Athlete(), station=1, by=None).load_kg == load


def test_a_dose_above_what_is_written_is_set_and_said(session, athlete, coach_client):
    address = reverse("sessions:pin", args=[session.key, athlete.pk, PULL_UPS])
    sent = {"key": str(uuid4()), "rung": "0", "dose": "20", "reason": "asked for it"}
    page = coach_client.post(address, sent, follow=True).content.decode()
    assert "More than is written (8). Hardly likely to be held." in page
    assert Pin.objects.get().dose == 20
    sent = {"key": str(uuid4()), "rung": "0", "dose": "1", "reason": "less"}
    assert "More than is written" not in coach_client.post(address, sent, follow=True).content.decode()


def set_alike(session: PublishedSession, athletes, coach, dose: float) -> list[Pin]:
    station = session.definition.stations[PULL_UPS - 1]
    sent = {"key": str(uuid4()), "rung": "0", "dose": str(dose), "reason": "long week"}
    form = PinForm(sent, station=station)
    assert form.is_valid(), form.errors
    return pins_set_alike(form=form, session_key=session.key, athletes=athletes, station=station, by=coach)


def test_several_at_once_are_what_each_alone_would_be(session, coach):
    one, other = Athlete.objects.order_by("pk")[:2]
    for athlete in (one, other):
        pin_of(session, athlete, coach, dose=9)
    alone = {athlete: figures(session, athlete)[PULL_UPS] for athlete in (one, other)}
    for pin in Pin.objects.standing():
        pin_take_off(pin=pin, by=coach)
    set_alike(session, [one, other], coach, 9)
    for athlete, was in alone.items():
        now = figures(session, athlete)[PULL_UPS]
        assert {name: now[name] for name in NUMBERS} == {name: was[name] for name in NUMBERS}
        assert "set by your coach" in page_of(session, athlete)


def test_undoing_several_brings_back_what_a_colleague_had_set(session, athlete, coach, coach_client):
    before = pin_of(session, athlete, coach, dose=6)
    new = set_alike(session, Athlete.objects.all()[:3], coach, 9)
    assert figures(session, athlete)[PULL_UPS]["dose"] == 9
    address = reverse("sessions:pins-many-off")
    sent = {"pins": ",".join(str(pin.pk) for pin in new)}
    assert coach_client.post(address, sent).json() == {"says": "Taken back for 3."}
    assert coach_client.post(address, sent).json() == {"says": "Taken back for 0."}
    assert list(Pin.objects.standing()) == [before]
    assert figures(session, athlete)[PULL_UPS]["dose"] == 6


def test_queries_do_not_grow_with_the_athletes_set_at_once(furnished, coach, django_capture_on_commit_callbacks):
    from tests import gym

    gym.people(30)
    session = publish(gym.planned_week(), coach).sessions.get()
    counts = []
    for many in (2, 25):
        with CaptureQueriesContext(connection) as queries, django_capture_on_commit_callbacks(execute=True):
            pins = set_alike(session, Athlete.objects.all()[:many], coach, 9)
        with CaptureQueriesContext(connection) as back, django_capture_on_commit_callbacks(execute=True):
            pins_take_off(pins=pins, by=coach, undo=True)
        counts.append((len(queries), len(back)))
    assert counts[0] == counts[1]
