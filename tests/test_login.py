import pytest
from django.test import Client
from django.urls import reverse

from tests.conftest import PASSWORD


@pytest.fixture
def attempt(gym_row, coach, settings):
    settings.AXES_ENABLED = True

    def attempt(password):
        return Client().post(reverse("login"), {"username": coach.username, "password": password})

    return attempt


def test_the_right_password_opens_this_week(attempt):
    answer = attempt(PASSWORD)
    assert (answer.status_code, answer.url) == (302, reverse("home"))


def test_a_wrong_password_says_so_and_keeps_the_name(attempt, coach):
    page = attempt("wrong").content.decode()
    assert f'value="{coach.username}"' in page


def test_guessing_is_locked_out_also_for_the_right_password(attempt, settings):
    for _ in range(settings.AXES_FAILURE_LIMIT):
        attempt("wrong")
    answer = attempt(PASSWORD)
    assert answer.status_code == 429
    assert "_auth_user_id" not in answer.client.session


def test_signing_in_goes_only_to_this_site(attempt, coach):
    url = f"{reverse('login')}?next=https://elsewhere.example/"
    answer = Client().post(url, {"username": coach.username, "password": PASSWORD})
    assert answer.url == reverse("home")
