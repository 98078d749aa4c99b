"""A passkey is added and opens the account, and codes are set up, as a person does both."""

import re

import pytest
from django.test import Client
from django.urls import reverse
from django_otp.plugins.otp_totp.models import TOTPDevice
from playwright.sync_api import expect

from tests.accounts.test_signing_in import code_of
from tests.conftest import PASSWORD

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def page(open_page, coach_client, gym_row, live_server, settings):
    """The coach's own account at the address people type, in a browser with a key that knows its owner."""
    settings.SITE_URL = live_server.url
    page = open_page(coach_client)
    session = page.context.new_cdp_session(page)
    session.send("WebAuthn.enable")
    key = {"protocol": "ctap2", "transport": "internal", "hasResidentKey": True, "hasUserVerification": True}
    key |= {"isUserVerified": True, "automaticPresenceSimulation": True}
    session.send("WebAuthn.addVirtualAuthenticator", {"options": key})
    page.goto(reverse("account"))
    return page


def add(page) -> None:
    page.locator("[data-passkey=make] [name=password]").fill(PASSWORD)
    page.get_by_role("button", name="Add a passkey").click()


def sign_out(page) -> None:
    page.context.clear_cookies()
    page.goto(reverse("login"))


def test_a_passkey_opens_the_account_without_a_password(page, coach):
    add(page)
    expect(page.get_by_text("The passkey is kept")).to_be_visible()
    assert coach.passkeys.count() == 1
    sign_out(page)
    page.get_by_role("button", name="Use a passkey").click()
    expect(page).to_have_url(re.compile(r"\d/(first-hour/.*)?$"))
    assert coach.passkeys.get().used_at


def test_a_passkey_that_was_removed_opens_nothing(page, coach):
    add(page)
    expect(page.get_by_text("The passkey is kept")).to_be_visible()
    coach.passkeys.all().delete()
    sign_out(page)
    with page.expect_response(lambda answer: answer.url.endswith("/login/passkey/")) as answer:
        page.evaluate("() => document.querySelector('[data-passkey] button').click()")
    assert answer.value.status == 422


def test_codes_are_set_up_and_asked_for(page, coach, gym_row):
    page.get_by_role("link", name="Codes from an app").click()
    device = TOTPDevice.objects.get(user=coach)
    assert page.locator("svg[class*=qr], .prose svg").first.bounding_box()["width"] > 150
    page.get_by_label("code").fill(code_of(device))
    page.get_by_label("your password").fill(PASSWORD)
    page.get_by_role("button", name="Ask for codes from now on").click()
    expect(page.get_by_text("Codes for paper").first).to_be_visible()
    paper = page.locator("main li code").first.inner_text()
    sign_out(page)
    page.get_by_label("name").fill(coach.username)
    page.get_by_label("password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", name="One more step")).to_be_visible()
    page.get_by_label("code").fill(paper)
    page.get_by_role("button", name="Sign in").click()
    expect(page).to_have_url(re.compile(r"\d/(first-hour/.*)?$"))
    assert Client().get(reverse("account")).status_code == 302
