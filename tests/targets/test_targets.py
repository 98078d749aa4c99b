"""The ways to a target's arithmetic, and what the menu of a dose says before it is changed."""

from types import SimpleNamespace

import pytest
from django.urls import reverse

from athletes.gym.read import today
from athletes.models import Athlete
from sessions.by_hand.ahead import warning
from sessions.floor.write import dose_change
from sessions.models import PublishedSession, Target
from tests import gym
from tests.conftest import publish
from tests.floor.floor import HOUR, tap_on, target_of


@pytest.fixture
def session(furnished, coach) -> PublishedSession:
    gym.people(3)
    week = publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)
    return week.sessions.get(date=today())


@pytest.fixture
def athlete(session) -> Athlete:
    return Athlete.objects.get(board_name="A0002")


def test_floor_sheet_room_and_athlete_lead_to_the_arithmetic(session, athlete, coach_client, staff_client):
    way = reverse("sessions:target-of", args=[session.key, athlete.pk, 1])
    target = target_of(session, athlete, 1)
    here = reverse("sessions:target", args=[target.pk])
    assert coach_client.get(way).url == here
    floor = f"{reverse('sessions:floor', args=[session.pk])}?hour={HOUR}"
    planned = session.publication.week.sessions.get(key=session.key)
    room = reverse("sessions:room", args=[planned.pk])
    assert way in coach_client.get(floor).content.decode()
    assert way not in staff_client.get(floor).content.decode()
    # In the room the panel makes the way for whoever is under the cursor.
    pattern = reverse("sessions:target-of", args=["00000000-0000-4000-8000-000000000000", 0, 1])
    assert f'data-target="{pattern}"' in coach_client.get(room).content.decode()
    assert f'"key": "{session.key}"' in coach_client.get(room).content.decode()
    assert pattern not in staff_client.get(room).content.decode()
    part = reverse("sessions:targets", args=[athlete.pk])
    detail = reverse("athletes:detail", args=[athlete.pk])
    assert part in coach_client.get(detail).content.decode()
    assert here in coach_client.get(part).content.decode()
    assert here in staff_client.get(part).content.decode()


def test_a_draft_that_nobody_sees_yet_has_no_way_there(furnished, coach_client):
    [athlete] = gym.people(1)
    planned = gym.planned_week().sessions.get()
    way = reverse("sessions:target-of", args=[planned.key, athlete.pk, 1])
    assert way not in coach_client.get(reverse("sessions:room", args=[planned.pk])).content.decode()
    assert coach_client.get(way).status_code == 404
    assert "Nothing from today on" in coach_client.get(reverse("sessions:targets", args=[athlete.pk])).content.decode()


def test_harder_says_what_it_asks_and_swap_its_dose(session, athlete, coach, coach_client, staff_client):
    address = reverse("sessions:floor-ahead", args=[session.pk, athlete.pk, 1])
    assert staff_client.get(address).status_code == 403
    target = target_of(session, athlete, 1)
    Target.objects.filter(pk=target.pk).update(rung=0, dose=24)
    said = coach_client.get(address).json()
    assert said["harder"].startswith("More than is written (15). Hardly likely")
    pulls = coach_client.get(reverse("sessions:floor-ahead", args=[session.pk, athlete.pk, 2])).json()
    dose_change(session=session, tap=tap_on(target_of(session, athlete, 2), "swap"), by=coach)
    swapped = target_of(session, athlete, 2)
    assert pulls["swap"] == f"{swapped.dose:g} repetitions Ring row"


@pytest.mark.parametrize(
    ("dose", "probability", "words"),
    [
        (15, 0.9, ""),
        (16, 0.9, "More than is written (15)."),
        (15, 0.12, "Likely to be held in 1 of 10 tries."),
        (16, 0.01, "More than is written (15). Hardly likely to be held."),
        (16, None, "More than is written (15)."),
    ],
)
def test_the_warning_speaks_only_where_there_is_something_to_say(dose, probability, words):
    assert warning(dose=dose, option=SimpleNamespace(dose=15), probability=probability) == words
