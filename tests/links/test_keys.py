"""A link is exchanged for a cookie on first use: from then on no address on the phone holds its key."""

import re
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import get_resolver, reverse

from athletes.links.devices import COOKIE, PAGES
from athletes.links.keys import LASTS_S, cookie_of, key_in
from athletes.links.write import link_issue, link_revoke, screen_link_issue
from athletes.models import Athlete, Link
from athletes.people.merge import athletes_merge
from sessions.models import Log, PublishedSession
from tests import gym
from tests.conftest import JSON, publish
from tests.phones import at, open_page, phone_of

SAFE_PAGES = sorted(name.removeprefix("sessions:") for name in PAGES)
FOR_SCRIPTS = ("phone-manifest", "phone-worker", "phone-clock", "phone-clock-plan")
UNKNOWN = "This phone does not know you any more"


@pytest.fixture
def link(gym_row, make_athlete) -> Link:
    return link_issue(athlete=make_athlete(), by=None)


@pytest.fixture
def week(furnished, coach) -> Link:
    """The link of somebody who has a session every day of this week."""
    gym.people(2)
    publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach, day=gym.this_monday())
    return link_issue(athlete=Athlete.objects.first(), by=None)


def whole(link: Link, name: str = "phone") -> str:
    return reverse(f"sessions:{name}", args=[link.token])


def phone_with(link: Link, key: str) -> Client:
    client = Client()
    client.cookies[cookie_of(link.nonce)] = key
    return client


def a_log() -> dict:
    session = PublishedSession.objects.earliest("date")
    facts = {"key": str(uuid4()), "session_key": str(session.key), "date": session.date.isoformat(), "rpe": 7}
    return facts | {"done_at": f"{session.date}T10:00:00Z", "entries": [{"station": 1, "rounds": 1, "dose": 5}]}


# ---- the exchange ----


@pytest.mark.parametrize("name", SAFE_PAGES)
def test_a_whole_link_leaves_its_key_in_a_cookie_and_leads_on_to_the_page(link, client, name):
    answer = client.get(whole(link, name), {"on": "2026-11-25.x", "rpe": "7"})
    assert answer.status_code == 302
    assert answer["Location"] == f"{at(link, name)}?on=2026-11-25.x&rpe=7"
    assert answer["Cache-Control"] == "private, no-store"
    assert answer["Referrer-Policy"] == "same-origin"
    cookie = client.cookies[cookie_of(link.nonce)]
    assert link.nonce + cookie.value == link.token
    facts = [cookie[name] for name in ("httponly", "samesite", "secure", "path", "max-age")]
    assert facts == [True, "Lax", "", "/", LASTS_S]
    assert client.get(answer["Location"]).status_code == 200


def test_over_https_the_cookie_goes_over_https_alone(link, client):
    client.get(whole(link), secure=True)
    assert client.cookies[cookie_of(link.nonce)]["secure"]


def test_every_page_that_a_person_opens_is_exchanged(link):
    """Whatever answers a whole link with a page in it would leave the key in the address bar."""
    names = {name for name in get_resolver().namespace_dict["sessions"][1].reverse_dict if isinstance(name, str)}
    phone = {name for name in names if name.startswith("phone")}
    assert set(FOR_SCRIPTS) | set(SAFE_PAGES) < phone
    for name in phone - set(SAFE_PAGES):
        answer = Client().get(whole(link, name))
        assert answer.status_code == 405 or "html" not in answer["Content-Type"], name


@pytest.mark.parametrize("name", [*SAFE_PAGES, *FOR_SCRIPTS])
def test_nothing_that_a_phone_gets_has_the_key_in_it_but_the_beginning_of_an_installed_app(week, name):
    text = open_page(week, name).content.decode()
    found = [m.start() for m in re.finditer(re.escape(key_in(week.token)), text)]
    assert len(found) == (1 if name == "phone-manifest" else 0)
    if found:
        assert f'"start_url": "{at(week)}?key={key_in(week.token)}"' in text


@pytest.mark.parametrize("name", FOR_SCRIPTS)
def test_what_the_scripts_of_an_earlier_version_ask_for_by_the_whole_link_is_answered(week, name):
    answer = Client().get(whole(week, name))
    assert answer.status_code == 200
    assert answer.content == open_page(week, name).content


def test_a_form_of_an_earlier_version_leads_on_to_the_page_too(week, client):
    answer = client.post(whole(week, "phone-log"), {"mark": "-", "rpe": "7"})
    assert answer.status_code == 422
    answer = client.post(whole(week, "phone-device"), {"only": "1"}, follow=True)
    assert answer.status_code == 200
    assert answer.request["PATH_INFO"] == at(week, "phone-settings")


def test_a_phone_in_use_keeps_its_cookies_for_as_long_again(link):
    phone = phone_of(link)
    device = phone.cookies["device"].value
    phone.cookies[cookie_of(link.nonce)]["max-age"] = phone.cookies["device"]["max-age"] = 10
    phone.get(at(link, "phone-week"))
    assert [phone.cookies[name]["max-age"] for name in (cookie_of(link.nonce), "device")] == [LASTS_S, LASTS_S]
    assert phone.cookies["device"].value == device


# ---- who has no key ----


@pytest.mark.parametrize("name", [*SAFE_PAGES, *FOR_SCRIPTS])
def test_a_nonce_opens_nothing_by_itself_and_does_not_tell_whether_there_is_such_a_link(link, name):
    answer = Client().get(at(link, name))
    assert answer.status_code == 410
    assert UNKNOWN in answer.content.decode()
    made_up = reverse(f"sessions:{name}", args=["A" * 12])
    assert Client().get(made_up).content == answer.content
    link_revoke(athlete=link.athlete, by=None)
    assert Client().get(at(link, name)).content == answer.content


def test_a_wrong_key_opens_nothing(link, make_athlete):
    other = link_issue(athlete=make_athlete("Ben Hill"), by=None)
    for key in ("", "x", "A" * 16, key_in(other.token), key_in(link.calendar_token), "é" * 16):
        answer = phone_with(link, key).get(at(link))
        assert (answer.status_code, UNKNOWN in answer.content.decode()) == (410, True), key


def test_a_wrong_key_in_the_address_opens_nothing_and_takes_nothing_away(link):
    assert Client().get(at(link), {"key": "A" * 16}).status_code == 410
    assert phone_of(link).get(at(link), {"key": "A" * 16}).status_code == 200


def test_a_screens_link_is_no_entrance(gym_row, client):
    screen = screen_link_issue(by=None)
    assert client.get(whole(screen)).status_code == 410
    assert not client.cookies


def test_another_name_of_the_domain_cannot_send_a_form_by_the_cookie(week):
    phone = phone_of(week)
    for name, said, status in (
        ("Sec-Fetch-Site", "same-site", 410),
        ("Sec-Fetch-Site", "cross-site", 410),
        ("Sec-Fetch-Site", "same-origin", 302),
        ("Origin", "http://testserver:9000", 410),  # of browsers that do not say it, as over plain HTTP
        ("Origin", "null", 410),
        ("Origin", "http://testserver", 302),
        ("X-Nothing", "said", 302),
    ):
        headers = {name: said}
        sent = phone.post(at(week, "phone-device"), {"only": "1"}, headers=headers)
        assert sent.status_code == status, said
        assert phone.get(at(week), headers=headers).status_code == 200  # a link from elsewhere may be followed


# ---- several, renewed, revoked, forgotten ----


def test_two_athletes_on_one_phone_never_disturb_each_other(link, client, make_athlete):
    other = link_issue(athlete=make_athlete("Ben Hill"), by=None)
    for each in (link, other):
        client.get(whole(each))
    for each in (link, other):
        assert each.athlete.name in client.get(at(each)).content.decode()
    link_revoke(athlete=link.athlete, by=None)
    assert [client.get(at(each)).status_code for each in (link, other)] == [410, 200]


def test_a_dead_link_says_so_to_who_has_its_key_and_leaves_none(link, client):
    phone = phone_of(link)
    link_revoke(athlete=link.athlete, by=None)
    for answer in (phone.get(at(link)), client.get(whole(link))):
        assert answer.status_code == 410
        assert "This link no longer works" in answer.content.decode()
    assert cookie_of(link.nonce) not in client.cookies


def test_a_renewed_link_opens_beside_the_old_one(link):
    phone = phone_of(link)
    fresh = link_issue(athlete=link.athlete, by=None)
    assert phone.get(at(fresh)).status_code == 410
    assert phone.get(whole(fresh), follow=True).status_code == 200
    assert phone.get(at(link)).status_code == 410


def test_a_phone_forgets_its_key(link):
    phone = phone_of(link)
    assert phone.post(at(link, "phone-device"), {"forget": "1"}).status_code == 204
    assert UNKNOWN in phone.get(at(link)).content.decode()
    assert phone.get(whole(link), follow=True).status_code == 200


# ---- the API ----


def test_a_log_is_taken_by_the_nonce_with_the_cookie_and_refused_without(week):
    address, by_nonce = reverse("api:my-logs"), {"Authorization": f"Link {week.nonce}"}
    for stranger in (Client(), phone_with(week, "A" * 16)):
        answer = stranger.post(address, a_log(), headers=by_nonce, **JSON)
        assert answer.status_code == 401
        assert "no longer works" in answer.json()["detail"]
    assert not Log.objects.exists()
    assert phone_of(week).post(address, a_log(), headers=by_nonce, **JSON).status_code == 201
    assert Client().post(address, a_log(), headers={"Authorization": f"Link {week.token}"}, **JSON).status_code == 201
    assert Log.objects.count() == 2


def test_the_cookie_alone_opens_nothing_of_the_api(week):
    assert phone_of(week).get(reverse("api:my-targets")).status_code == 401


def test_a_coach_who_is_signed_in_on_the_same_phone_logs_as_the_athlete(week, coach_client):
    coach_client.get(whole(week))
    coach_client.handler.enforce_csrf_checks = True
    by_nonce = {"Authorization": f"Link {week.nonce}"}
    answer = coach_client.post(reverse("api:my-logs"), a_log(), headers=by_nonce, **JSON)
    assert answer.status_code == 201
    assert Log.objects.get().athlete == week.athlete


def test_the_link_of_somebody_merged_opens_every_page_of_who_they_are_now(link, make_athlete, coach):
    keep = make_athlete("Ada Stones")
    phone = phone_of(link)
    athletes_merge(keep=keep, gone=link.athlete, by=coach)
    for name in SAFE_PAGES:
        page = phone.get(at(link, name))
        assert (page.status_code, keep.name in page.content.decode()) == (200, True), name


def test_the_key_of_a_dead_link_is_taken_off_the_phone(link):
    phone = phone_of(link)
    link_revoke(athlete=link.athlete, by=None)
    assert phone.get(at(link)).status_code == 410
    assert not phone.cookies[cookie_of(link.nonce)].value


def test_a_phone_that_lost_its_name_is_given_one_to_limit_the_link_to(link):
    phone = phone_of(link)
    del phone.cookies[COOKIE]
    assert phone.post(at(link, "phone-device"), {"only": "1"}).status_code == 302
    assert Link.objects.get(pk=link.pk).only_device
    assert phone.get(at(link)).status_code == 200
    assert Client().get(whole(link)).status_code == 410
