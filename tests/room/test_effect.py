"""Settings in words, with what they do to a circuit that everyone knows."""

import pytest
from django.urls import reverse

from athletes.gym.read import today
from athletes.models import Gym
from sessions.room.effect import effect_of
from tests import gym
from tests.test_gym_pages import SETTINGS


@pytest.fixture
def settings_of_gym(furnished) -> Gym:
    gym.people(12)
    gym.circuit()
    return Gym.objects.get()


def rows(found, intent: str) -> dict[str, list[float]]:
    groups = dict(found.days)[intent]
    return {group: [float("".join(c for c in dose if c.isdigit())) for dose in doses] for group, doses in groups}


def test_an_easier_day_asks_for_less_and_the_strong_for_more(settings_of_gym):
    found = effect_of(settings_of_gym, today())
    assert found.circuit.name == "Mill race"
    hard, easy = rows(found, "hard"), rows(found, "easy")
    assert all(e <= h for group in hard for e, h in zip(easy[group], hard[group], strict=True))
    assert sum(hard["strong"]) > sum(hard["weak"])


def asked(gym_row: Gym) -> float:
    return sum(map(sum, rows(effect_of(gym_row, today()), "hard").values()))


def test_more_left_in_the_tank_and_more_careful_both_ask_for_less(settings_of_gym):
    usual = asked(settings_of_gym)
    settings_of_gym.headroom_hard = 0.24
    fresher = asked(settings_of_gym)
    settings_of_gym.headroom_hard, settings_of_gym.sure = 0.10, 0.95
    careful = asked(settings_of_gym)
    settings_of_gym.sure = 0.80
    assert max(fresher, careful) <= usual <= asked(settings_of_gym)
    assert min(fresher, careful) < asked(settings_of_gym)


def test_the_page_shows_it_while_one_types_and_keeps_nothing(settings_of_gym, owner_client, coach_client):
    url = reverse("sessions:settings-effect")
    page = owner_client.post(url, SETTINGS).content.decode()
    assert "Mill race, with these settings" in page
    assert "four numbers rise" in owner_client.post(url, {**SETTINGS, "headroom_easy": "1"}).content.decode()
    assert Gym.objects.get().headroom_hard == settings_of_gym.headroom_hard
    assert coach_client.post(url, SETTINGS).status_code == 403


def test_an_empty_gym_says_when_it_is_shown(gym_row, owner_client):
    page = owner_client.post(reverse("sessions:settings-effect"), SETTINGS).content.decode()
    assert "as soon as there is a circuit" in page


def test_no_statistics_stand_outside_an_advanced_fold(furnished, owner_client, coach_client):
    from athletes.models import MachineType, Movement

    machine = reverse("athletes:machine-change", args=[MachineType.objects.first().pk])
    movement = reverse("athletes:movement-change", args=[Movement.objects.first().pk])
    for client, url in ((owner_client, machine), (coach_client, movement), (owner_client, reverse("athletes:gym"))):
        page = client.get(url).content.decode()
        before = page.split('<details class="fold"')[0]
        assert "3.4416" not in before
        assert "SD" not in before
