"""A personal link on a device: named on first use, limited to it when its holder wants, gone when someone leaves."""

import pytest
from django.test import Client
from django.urls import reverse

from athletes.links import devices
from athletes.links.read import athlete_for_token
from athletes.links.write import link_issue
from athletes.models import Link
from athletes.people.write import athlete_change
from tests.phones import at, open_page


@pytest.fixture
def link(gym_row, make_athlete) -> Link:
    return link_issue(athlete=make_athlete(), by=None)


def page(client: Client, link: Link, name: str = "phone") -> int:
    """What a client gets that opens the whole link, and is led on to the page."""
    return client.get(reverse(f"sessions:{name}", args=[link.token]), follow=True).status_code


def limit(client: Client, link: Link, **said) -> int:
    return client.post(reverse("sessions:phone-device", args=[link.token]), said or {"only": "1"}).status_code


def test_the_first_page_names_the_device_in_a_cookie_that_no_script_reads(client, link):
    page(client, link)
    cookie = client.cookies["device"]
    assert (cookie["httponly"], cookie["samesite"]) == (True, "Lax")
    name = cookie.value
    page(client, link, "phone-week")
    assert client.cookies["device"].value == name
    assert link.token not in name


def test_a_limited_link_opens_on_its_device_alone(client, link):
    page(client, link)
    assert limit(client, link) == 302
    assert page(client, link) == 200
    thief = Client()
    assert page(thief, link) == 410
    for name in ("week", "numbers", "progress", "log", "settings", "worker", "manifest", "clock"):
        assert page(thief, link, f"phone-{name}") == 410
    thief.cookies["link-" + link.nonce] = link.token[len(link.nonce) :]
    assert thief.get(at(link)).status_code == 410
    assert "This link opens on another phone" in thief.get(at(link)).content.decode()
    targets = reverse("api:my-targets")
    for said in (link.token, link.nonce):
        authorization = {"Authorization": f"Link {said}"}
        assert thief.get(targets, headers=authorization).status_code == 401
        assert client.get(targets, headers=authorization).status_code == 200


def test_a_made_up_cookie_is_no_device(client, link):
    page(client, link)
    limit(client, link)
    thief = Client()
    thief.cookies["device"] = Link.objects.get().only_device
    assert page(thief, link) == 410


def test_nobody_elsewhere_lifts_the_limit_and_its_device_does(client, link):
    page(client, link)
    limit(client, link)
    assert limit(Client(), link, any="1") == 410
    assert limit(client, link, any="1") == 302
    assert page(Client(), link) == 200


def test_a_new_link_opens_anywhere_again(client, link):
    page(client, link)
    limit(client, link)
    fresh = link_issue(athlete=link.athlete, by=None)
    assert page(Client(), fresh) == 200
    assert page(client, link) == 410


def test_two_children_open_theirs_on_one_phone(client, link, make_athlete):
    other = link_issue(athlete=make_athlete("Ben Hill"), by=None)
    for each in (link, other):
        page(client, each)
        limit(client, each)
    assert page(client, link) == page(client, other) == 200


def test_another_process_sees_a_limit_within_two_seconds(client, link, monkeypatch):
    page(client, link)
    Link.objects.update(only_device="set elsewhere")
    later = devices.time.monotonic() + devices.KEPT_S + 0.1
    monkeypatch.setattr(devices.time, "monotonic", lambda: later)
    assert page(client, link) == 410


def test_limits_cost_one_query_for_all_phones_of_two_seconds(link, django_assert_num_queries):
    client = Client()
    page(client, link, "phone-manifest")
    devices.link_limit(token=link.token, device="")
    counted = [Client(), Client(), Client()]
    page(counted[0], link, "phone-worker")
    with django_assert_num_queries(4):  # gym and link, twice; a test client keeps no gym
        for each in counted[1:]:
            page(each, link, "phone-worker")


def test_whoever_leaves_has_no_link_and_gets_a_new_one_on_coming_back(link, coach):
    athlete = link.athlete
    athlete.active = False
    athlete_change(athlete=athlete, by=coach)
    assert not Link.objects.filter(revoked_at=None).exists()
    athlete.active = True
    athlete_change(athlete=athlete, by=coach)
    assert athlete_for_token(link.token) is None
    assert athlete_for_token(Link.objects.get(revoked_at=None).token) == athlete


@pytest.mark.parametrize("host", ["elsewhere.example", "localhost.elsewhere.example", "127.0.0.1.elsewhere.example"])
def test_a_host_that_nobody_named_is_refused(client, gym_row, host, settings):
    settings.ALLOWED_HOSTS = ["gym.example", "localhost", "127.0.0.1", "[::1]"]
    assert client.get(reverse("login"), headers={"Host": host}).status_code == 400
    assert client.get(reverse("healthy"), headers={"Host": "localhost:8000"}).status_code == 200


def test_links_are_made_of_the_named_address_alone(staff_client, link, settings):
    settings.SITE_URL, settings.ALLOWED_HOSTS = "https://gym.example", ["*"]
    detail = reverse("athletes:detail", args=[link.athlete_id])
    pages = staff_client.get(detail, headers={"Host": "elsewhere.example"}).content.decode()
    pages += open_page(link, "phone-settings", Host="elsewhere.example").content.decode()
    assert f"https://gym.example/a/{link.token}/" in pages
    assert f"https://gym.example/calendar/{link.calendar_token}/" in pages
    assert "elsewhere.example" not in pages


def test_private_pages_stay_in_no_cache(staff_client, client, gym_row):
    assert staff_client.get(reverse("account"))["Cache-Control"] == "private, no-store"
    assert client.get(reverse("login"))["Referrer-Policy"] == "same-origin"
