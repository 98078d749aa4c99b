"""Accounts, for the owner; and everyone's own account."""

import pytest
from rest_framework.authtoken.models import Token

from athletes.models import Account
from tests.conftest import PASSWORD

NEW = {"name": "Ines", "username": "ines", "role": "coach", "password": "a long first password"}


def test_the_owner_adds_a_coach_who_can_sign_in(owner_client, client):
    owner_client.post("/gym/accounts/new/", NEW)
    assert Account.objects.get(username="ines").role == "coach"
    assert client.login(username="ines", password="a long first password")


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"password": "short"}, "at least 10 characters"),
        ({"password": "1234567890"}, "entirely numeric"),
        ({"username": "owner"}, "already exists"),
        ({"role": "king"}, "Select a valid choice"),
    ],
)
def test_wrong_input_keeps_what_was_typed(owner_client, wrong, sentence):
    page = owner_client.post("/gym/accounts/new/", {**NEW, **wrong}).content.decode()
    assert sentence in page
    assert 'value="Ines"' in page
    assert not Account.objects.filter(name="Ines").exists()


def test_the_last_owner_stays(owner_client, owner):
    for change in ({"role": "coach", "is_active": "on"}, {"role": "owner"}):
        sent = {"name": "The owner", "username": "owner", **change}
        page = owner_client.post(f"/gym/accounts/{owner.pk}/", sent).content.decode()
        assert "is the last owner who can sign in" in page
    owner.refresh_from_db()
    assert (owner.role, owner.is_active) == ("owner", True)


def test_with_a_second_owner_the_first_may_step_down(owner_client, owner, make_account):
    make_account("owner", "second")
    owner_client.post(
        f"/gym/accounts/{owner.pk}/", {"name": "The owner", "username": "owner", "role": "coach", "is_active": "on"}
    )
    owner.refresh_from_db()
    assert owner.role == "coach"


def test_an_owner_with_a_new_password_stays_signed_in(owner_client, owner):
    sent = {"name": "The owner", "username": "owner", "role": "owner", "is_active": "on", "password": "brand new words"}
    response = owner_client.post(f"/gym/accounts/{owner.pk}/", sent, follow=True)
    assert response.status_code == 200
    assert "The owner is changed." in response.content.decode()


def test_a_deactivated_account_cannot_sign_in(owner_client, staff, client):
    owner_client.post(f"/gym/accounts/{staff.pk}/", {"name": "The staff", "username": "staff", "role": "staff"})
    assert not client.login(username="staff", password=PASSWORD)


def test_a_forgotten_password_is_set_anew(owner_client, staff, client):
    sent = {"name": "The staff", "username": "staff", "role": "staff", "is_active": "on", "password": "brand new words"}
    owner_client.post(f"/gym/accounts/{staff.pk}/", sent)
    assert client.login(username="staff", password="brand new words")


def test_without_a_new_password_the_old_one_stays(owner_client, staff, client):
    sent = {"name": "Bo", "username": "staff", "role": "coach", "is_active": "on", "password": ""}
    owner_client.post(f"/gym/accounts/{staff.pk}/", sent)
    assert client.login(username="staff", password=PASSWORD)
    assert Account.objects.get(username="staff").role == "coach"


def test_the_list_shows_who_may_not_sign_in(owner_client, staff):
    Account.objects.filter(pk=staff.pk).update(is_active=False)
    assert "may not sign in" in owner_client.get("/gym/accounts/").content.decode()


def test_accounts_are_the_owners(coach_client, staff):
    for path in ("/gym/accounts/", "/gym/accounts/new/", f"/gym/accounts/{staff.pk}/"):
        assert coach_client.get(path).status_code == 403


def test_a_token_is_shown_once_and_replaced(staff_client, staff):
    page = staff_client.post("/account/token/", follow=True).content.decode()
    first = Token.objects.get(user=staff).key
    assert first in page
    assert first not in staff_client.get("/account/").content.decode()
    staff_client.post("/account/token/")
    assert Token.objects.get(user=staff).key != first
    staff_client.post("/account/token/", {"remove": "1"})
    assert not Token.objects.exists()
    assert staff_client.get("/account/token/").status_code == 405


def test_colours_are_kept_in_this_browser(staff_client):
    response = staff_client.post("/account/", {"theme": "dark"}, follow=True)
    assert 'data-theme="dark"' in response.content.decode()
    assert "Select a valid choice" in staff_client.post("/account/", {"theme": "pink"}).content.decode()


def test_the_own_password_changes(staff_client, client):
    wrong = {"old_password": "no", "new_password1": "brand new words", "new_password2": "brand new words"}
    assert "entered incorrectly" in staff_client.post("/account/password/", wrong).content.decode()
    response = staff_client.post("/account/password/", {**wrong, "old_password": PASSWORD}, follow=True)
    assert "Your password is changed." in response.content.decode()
    assert client.login(username="staff", password="brand new words")
