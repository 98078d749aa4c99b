"""What makes a personal link an app: manifest, service worker, small pages."""

import gzip
import json
import re
import struct
from os.path import normpath
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.test import Client
from django.urls import reverse

from athletes.links.write import link_issue, link_revoke
from athletes.models import Athlete, Gym
from sessions.phone import app_views as phone_app
from tests import gym
from tests.conftest import publish

BUDGET = 45_000  # bytes over the air for the first load of today's page
# The sheet of tokens names fonts that phones never use.
IMPORTS = {".js": rb'(?:from |import\()"(\.[^"]+)"', ".css": rb'url\("([^"]+figures[^"]+)"\)'}
PAGES = [f"sessions:{name}" for name in phone_app.PAGES]


@pytest.fixture
def token(furnished, coach) -> str:
    gym.people(3)
    publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)
    return link_issue(athlete=Athlete.objects.first(), by=None).token


def get(token: str, name: str, **headers):
    return Client().get(reverse(name, args=[token]), headers=headers)


def script_facts(token: str) -> dict:
    first, _ = get(token, "sessions:phone-worker").content.decode().split("\n", 1)
    return json.loads(re.fullmatch(r"const APP = (.*);", first)[1])


def static_addresses(page: str) -> set[str]:
    return set(re.findall(r'(?:src|href)="(/static/[^"]+)"', page))


def imported(path: str) -> set[str]:
    """What a script imports, or a sheet fetches, as addresses."""
    name = path.removeprefix("/static/")
    pattern = IMPORTS.get(Path(name).suffix)
    found = re.findall(pattern, Path(finders.find(name)).read_bytes()) if pattern else []
    return {normpath(f"/static/{name}/../{part.decode()}") for part in found}


# ---- manifest ----


def test_the_manifest_opens_one_athletes_own_page(token):
    answer = get(token, "sessions:phone-manifest")
    manifest, home = answer.json(), reverse("sessions:phone", args=[token])
    assert answer["Content-Type"] == "application/manifest+json"
    assert (manifest["id"], manifest["start_url"], manifest["scope"]) == (home, home, home)
    assert (manifest["name"], manifest["display"]) == ("Test gym", "standalone")
    assert f'rel="manifest" href="{answer.request["PATH_INFO"]}"' in get(token, "sessions:phone").content.decode()


def test_its_icons_are_pictures_of_the_size_they_say(token):
    icons = get(token, "sessions:phone-manifest").json()["icons"]
    assert {(icon["sizes"], icon["purpose"]) for icon in icons} == {
        ("192x192", "any"), ("512x512", "any"), ("192x192", "maskable"), ("512x512", "maskable"),
    }  # fmt: skip
    for icon in icons:
        data = Path(finders.find(icon["src"].removeprefix("/static/"))).read_bytes()
        assert data[:8] == b"\x89PNG\r\n\x1a\n"
        assert "{}x{}".format(*struct.unpack(">II", data[16:24])) == icon["sizes"]


def test_a_long_name_is_shortened_under_the_icon(token):
    Gym.objects.update(name="Tidemill Strength & Conditioning")
    assert get(token, "sessions:phone-manifest").json()["short_name"] == "Tidemill"


# ---- service worker ----


def test_the_worker_lies_in_the_folder_of_the_link_and_is_never_taken_from_a_cache(token):
    answer = get(token, "sessions:phone-worker")
    home = reverse("sessions:phone", args=[token])
    assert answer.request["PATH_INFO"].rpartition("/")[0] + "/" == home
    assert answer["Content-Type"].startswith("text/javascript")
    assert answer["Cache-Control"] == "private, no-cache"
    assert script_facts(token)["home"] == home
    assert "addEventListener(\"fetch\"" in answer.content.decode()  # fmt: skip


def test_it_keeps_every_page_and_everything_that_those_pages_ask_for(token):
    facts = script_facts(token)
    assert facts["pages"] == [reverse(name, args=[token]) for name in PAGES]
    asked = set().union(*(static_addresses(get(token, name).content.decode()) for name in PAGES))
    asked = {path for path in asked if not path.endswith(".png")}  # the home screen's own
    new = asked
    while new:
        new = set().union(*(imported(path) for path in new)) - asked
        asked |= new
    assert asked <= set(facts["assets"])
    assert all(finders.find(path.removeprefix("/static/")) for path in facts["assets"])


def test_its_version_changes_with_the_content_of_what_it_keeps(token, tmp_path, monkeypatch):
    before = script_facts(token)["version"]
    assert script_facts(token)["version"] == before
    sheet = tmp_path / "phone.css"
    sheet.write_text("body { color: black }")
    found = finders.find
    monkeypatch.setattr(finders, "find", lambda name: str(sheet) if name == "sessions/phone/phone.css" else found(name))
    assert script_facts(token)["version"] != before


@pytest.mark.parametrize("name", [*PAGES, "sessions:phone-manifest", "sessions:phone-worker"])
def test_nothing_of_the_app_answers_on_a_revoked_link(name, token):
    assert get(token, name).status_code == 200
    link_revoke(athlete=Athlete.objects.first(), by=None)
    assert get(token, name).status_code == 410


# ---- small and quick ----


def test_the_first_load_of_today_stays_within_its_budget(token):
    page = get(token, "sessions:phone", **{"Accept-Encoding": "gzip"})
    assert page["Content-Encoding"] == "gzip"
    text = gzip.decompress(page.content).decode()
    asked = static_addresses(text)
    asked = asked | set().union(*(imported(path) for path in asked))
    asked = {path for path in asked if not path.endswith(".png")}
    sizes = {path: _over_the_air(path) for path in asked}
    assert sizes, text
    assert len(page.content) + sum(sizes.values()) <= BUDGET, sizes


def _over_the_air(path: str) -> int:
    data = Path(finders.find(path.removeprefix("/static/"))).read_bytes()
    return min(len(data), len(gzip.compress(data, 9)))


def test_a_page_the_phone_has_already_is_not_sent_again(token):
    for name in PAGES:
        first = get(token, name)
        again = get(token, name, **{"If-None-Match": f"W/{first['ETag']}"})
        assert (again.status_code, again.content) == (304, b""), name
        assert get(token, name, **{"If-None-Match": '"other"'}).content == first.content


def test_no_page_holds_inline_script_or_style(token):
    for name in PAGES:
        page = get(token, name).content.decode()
        assert not re.search(r"<script(?![^>]*\ssrc=)|<style|\sstyle=|\son\w+=", page), name


def test_every_page_costs_few_queries(token, django_assert_max_num_queries):
    with django_assert_max_num_queries(3):  # gym and limits of links, kept in memory for a moment, and the page
        get(token, "sessions:phone")
    for name in PAGES:
        # How far one has come is worked out anew, and rarely looked at.
        with django_assert_max_num_queries(17 if name == "sessions:phone-progress" else 6):
            get(token, name)
