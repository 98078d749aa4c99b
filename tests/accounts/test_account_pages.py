"""Accounts, for the owner; and everyone's own account."""

import re
from datetime import datetime, timedelta
from importlib import import_module

import pytest
from axes.models import AccessAttempt
from django.apps import apps
from django.conf import settings as project
from django.contrib.auth.tokens import PasswordResetTokenGenerator
from django.test import Client
from django.urls import reverse
from rest_framework.authtoken.models import Token

from athletes.models import Account
from tests.conftest import JSON, PASSWORD, client_of

NEW = {"name": "Ines", "username": "ines", "role": "coach"}
CHOSEN = "a long first password"


def choose(client, address: str, password: str):
    """Open an invitation and choose a password there, as a person does."""
    page = client.get(address.removeprefix(project.SITE_URL), follow=True)
    path = page.redirect_chain[-1][0] if page.redirect_chain else address
    return client.post(path, {"new_password1": password, "new_password2": password}, follow=True)


def invitation_in(page: str) -> str:
    return re.search(r"http\S+/invitation/[^<\s]+", page)[0]


def test_the_owner_invites_a_coach_who_chooses_a_password_once(owner_client, client):
    page = owner_client.post("/gym/accounts/new/", NEW, follow=True).content.decode()
    address = invitation_in(page)
    assert address not in owner_client.get("/gym/accounts/").content.decode()  # shown once
    assert Account.objects.get(username="ines").role == "coach"
    choose(client, address, CHOSEN)
    assert client.login(username="ines", password=CHOSEN)
    assert "This invitation is over" in client.get(address.removeprefix(project.SITE_URL)).content.decode()


def test_an_invitation_ends_after_three_days(owner_client, client, monkeypatch):
    address = invitation_in(owner_client.post("/gym/accounts/new/", NEW, follow=True).content.decode())
    later = datetime.now() + timedelta(days=3, minutes=1)
    monkeypatch.setattr(PasswordResetTokenGenerator, "_now", lambda self: later)
    assert "This invitation is over" in client.get(address.removeprefix(project.SITE_URL)).content.decode()


POOR = ["short", "1234567890", "ines-ines-ines", "in my Ines we trust", project.DEMO_PASSWORD, "My Tidemill-Demo"]


@pytest.mark.parametrize("password", POOR)
def test_a_poor_password_is_refused_where_it_is_chosen(owner_client, client, password):
    address = invitation_in(owner_client.post("/gym/accounts/new/", NEW, follow=True).content.decode())
    page = choose(client, address, password)
    assert "errorlist" in page.content.decode() or "field-error" in page.content.decode()
    assert not client.login(username="ines", password=password)


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
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


def test_a_deactivated_account_cannot_sign_in(owner_client, staff, client):
    owner_client.post(f"/gym/accounts/{staff.pk}/", {"name": "The staff", "username": "staff", "role": "staff"})
    assert not client.login(username="staff", password=PASSWORD)


def test_who_forgot_the_password_is_invited_again_and_everything_before_ends(owner_client, staff, client):
    elsewhere = client_of(staff)
    Token.objects.create(user=staff)
    page = owner_client.post(f"/gym/accounts/{staff.pk}/invite/", follow=True).content.decode()
    assert not client.login(username="staff", password=PASSWORD)
    assert elsewhere.get("/account/").status_code == 302
    assert not Token.objects.exists()
    choose(client, invitation_in(page), CHOSEN)
    assert client.login(username="staff", password=CHOSEN)


def test_a_change_of_role_leaves_the_password(owner_client, staff, client):
    sent = {"name": "Bo", "username": "staff", "role": "coach", "is_active": "on"}
    owner_client.post(f"/gym/accounts/{staff.pk}/", sent)
    assert client.login(username="staff", password=PASSWORD)
    assert Account.objects.get(username="staff").role == "coach"


def test_the_list_shows_who_may_not_sign_in(owner_client, staff):
    Account.objects.filter(pk=staff.pk).update(is_active=False)
    assert "may not sign in" in owner_client.get("/gym/accounts/").content.decode()


def test_accounts_are_the_owners(coach_client, staff):
    for path in ("/gym/accounts/", "/gym/accounts/new/", f"/gym/accounts/{staff.pk}/"):
        assert coach_client.get(path).status_code == 403


def opens(token: str) -> bool:
    return Client().get("/api/v1/athletes/", headers={"Authorization": f"Token {token}"}).status_code == 200


def test_a_token_that_was_kept_as_it_is_goes_on_working_after_the_upgrade(staff, gym_row):
    kept = Token.objects.create(user=staff).key
    assert not opens(kept)
    import_module("athletes.migrations.0023_api_tokens_hashed").hash_tokens(apps, None)
    assert opens(kept)


def test_a_token_is_shown_once_and_replaced(staff_client, staff):
    refused = staff_client.post("/account/token/", {"password": "a guess"}, follow=True).content.decode()
    assert "not your password" in refused
    assert not Token.objects.exists()
    page = staff_client.post("/account/token/", {"password": PASSWORD}, follow=True).content.decode()
    first = re.search(r"shown only now: <code class=\"address\">(\w+)<", page)[1]
    assert opens(first)
    assert not opens(Token.objects.get(user=staff).key)  # what the database has is of no use to who reads it
    assert first not in staff_client.get("/account/").content.decode()
    staff_client.post("/account/token/", {"password": PASSWORD})
    assert not opens(first)
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


def test_a_new_password_ends_other_devices_and_the_token_but_not_this_one(staff_client, staff):
    other = client_of(staff)
    Token.objects.create(user=staff)
    new = {"old_password": PASSWORD, "new_password1": "brand new words", "new_password2": "brand new words"}
    staff_client.post("/account/password/", new)
    assert staff_client.get("/account/").status_code == 200
    assert other.get("/account/").status_code == 302
    assert not Token.objects.exists()


def test_devices_are_listed_and_signed_out(staff_client, staff):
    phone, tablet = client_of(staff), client_of(staff)
    own = staff.sign_ins.get(session_key=phone.session.session_key)
    page = staff_client.get("/account/").content.decode()
    assert page.count("Sign out there") == 2
    staff_client.post("/account/devices/", {"only": own.pk})
    assert (phone.get("/account/").status_code, tablet.get("/account/").status_code) == (302, 200)
    staff_client.post("/account/devices/")
    assert (tablet.get("/account/").status_code, staff_client.get("/account/").status_code) == (302, 200)


def test_nobody_signs_out_the_devices_of_others(staff_client, coach):
    other = client_of(coach)
    staff_client.post("/account/devices/", {"only": coach.sign_ins.get().pk})
    assert other.get("/account/").status_code == 200


# --- Whoever sits at an open page and guesses the password ---

NEW_PASSWORD = {"new_password1": "brand new words", "new_password2": "brand new words"}
ASKING = {
    "account-token": lambda typed: {"password": typed},
    "account-password": lambda typed: {"old_password": typed, **NEW_PASSWORD},
    "account-second-off": lambda typed: {"password": typed},
    "account-codes": lambda typed: {"password": typed, "code": "123456"},
}


@pytest.mark.parametrize("page", ASKING)
def test_the_own_password_is_not_guessed_at_an_open_page(staff, settings, page):
    settings.AXES_ENABLED, address = True, reverse(page)
    at_desk, elsewhere = client_of(staff), client_of(staff)
    tried = [at_desk.post(address, ASKING[page](f"guess {number}")).status_code for number in range(15)]
    assert tried.count(429) == 15 - settings.AXES_FAILURE_LIMIT + 1
    assert at_desk.post(address, ASKING[page](PASSWORD)).status_code == 429
    assert elsewhere.post(reverse("account-token"), {"password": PASSWORD}).status_code == 302
    assert Token.objects.count() == 1
    signing_in = Client().post(reverse("login"), {"username": staff.username, "password": PASSWORD})
    assert signing_in.url == reverse("home")


def test_a_passkey_is_refused_in_words_after_too_many_guesses(staff_client, settings):
    settings.AXES_ENABLED = True
    sent = {"password": "a guess", "answer": {}, "name": ""}
    answers = [staff_client.post(reverse("account-passkey-answer"), sent, **JSON) for _ in range(11)]
    assert [answer.status_code for answer in answers[8:]] == [422, 429, 429]
    assert answers[-1].json() == {"words": "Too many wrong passwords. Try again in an hour."}


def test_the_right_password_at_an_open_page_begins_to_count_anew(staff_client, settings):
    settings.AXES_ENABLED = True
    for typed in ["a guess"] * 9 + [PASSWORD] + ["a guess"] * 9:
        assert staff_client.post(reverse("account-token"), {"password": typed}).status_code == 302


def test_what_was_typed_is_not_kept_with_what_is_counted(staff_client, settings):
    settings.AXES_ENABLED = True
    staff_client.post(reverse("account-password"), {"old_password": "almost right", **NEW_PASSWORD})
    kept = AccessAttempt.objects.get()
    assert "almost right" not in kept.post_data
    assert "brand new" not in kept.post_data
