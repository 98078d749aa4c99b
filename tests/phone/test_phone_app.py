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
from athletes.models import Athlete, Gym, Link
from sessions.phone import app_views as phone_app
from tests import gym
from tests.conftest import publish
from tests.phones import at, open_page, phone_of

BUDGET = 45_000  # bytes over the air for the first load of today's page
# The sheet of tokens names fonts that phones never use.
IMPORTS = {".js": rb'(?:from |import\()"(\.[^"]+)"', ".css": rb'url\("([^"]+figures[^"]+)"\)'}


@pytest.fixture
def link(furnished, coach) -> Link:
    gym.people(3)
    publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)
    return link_issue(athlete=Athlete.objects.first(), by=None)


def script_facts(link: Link) -> dict:
    first, _ = open_page(link, "phone-worker").content.decode().split("\n", 1)
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


def test_the_manifest_opens_one_athletes_own_page(link):
    answer = open_page(link, "phone-manifest")
    manifest, home = answer.json(), at(link)
    assert answer["Content-Type"] == "application/manifest+json"
    assert (manifest["id"], manifest["scope"]) == (home, home)
    assert (manifest["name"], manifest["display"]) == ("Test gym", "standalone")
    with_cookies = f'rel="manifest" crossorigin="use-credentials" href="{answer.request["PATH_INFO"]}"'
    assert with_cookies in open_page(link).content.decode()


def test_the_installed_app_brings_its_key_and_leads_on_without_it(link):
    begin = open_page(link, "phone-manifest").json()["start_url"]
    assert begin.startswith(at(link))
    app = Client()  # some systems keep its cookies apart from those of the browser
    answer = app.get(begin)
    assert (answer.status_code, answer["Location"]) == (302, at(link))
    assert app.get(at(link)).status_code == 200


def test_its_icons_are_pictures_of_the_size_they_say(link):
    icons = open_page(link, "phone-manifest").json()["icons"]
    assert {(icon["sizes"], icon["purpose"]) for icon in icons} == {
        ("192x192", "any"), ("512x512", "any"), ("192x192", "maskable"), ("512x512", "maskable"),
    }  # fmt: skip
    for icon in icons:
        data = Path(finders.find(icon["src"].removeprefix("/static/"))).read_bytes()
        assert data[:8] == b"\x89PNG\r\n\x1a\n"
        assert "{}x{}".format(*struct.unpack(">II", data[16:24])) == icon["sizes"]


def test_a_long_name_is_shortened_under_the_icon(link):
    Gym.objects.update(name="Tidemill Strength & Conditioning")
    assert open_page(link, "phone-manifest").json()["short_name"] == "Tidemill"


# ---- service worker ----


def test_the_worker_lies_in_the_folder_of_the_link_and_is_never_taken_from_a_cache(link):
    answer = open_page(link, "phone-worker")
    home = at(link)
    assert answer.request["PATH_INFO"].rpartition("/")[0] + "/" == home
    assert answer["Content-Type"].startswith("text/javascript")
    assert answer["Cache-Control"] == "private, no-cache"
    assert script_facts(link)["home"] == home
    assert answer["Service-Worker-Allowed"] + "/" == home  # and so the whole link, which has no slash there
    assert "addEventListener(\"fetch\"" in answer.content.decode()  # fmt: skip


def test_it_keeps_every_page_and_everything_that_those_pages_ask_for(link):
    facts = script_facts(link)
    assert facts["pages"] == [at(link, name) for name in phone_app.PAGES]
    asked = set().union(*(static_addresses(open_page(link, name).content.decode()) for name in phone_app.PAGES))
    asked = {path for path in asked if not path.endswith(".png")}  # the home screen's own
    new = asked
    while new:
        new = set().union(*(imported(path) for path in new)) - asked
        asked |= new
    assert asked <= set(facts["assets"])
    assert all(finders.find(path.removeprefix("/static/")) for path in facts["assets"])


def test_its_version_changes_with_the_content_of_what_it_keeps(link, tmp_path, monkeypatch):
    before = script_facts(link)["version"]
    assert script_facts(link)["version"] == before
    sheet = tmp_path / "phone.css"
    sheet.write_text("body { color: black }")
    found = finders.find
    monkeypatch.setattr(finders, "find", lambda name: str(sheet) if name == "sessions/phone/phone.css" else found(name))
    assert script_facts(link)["version"] != before


@pytest.mark.parametrize("name", [*phone_app.PAGES, "phone-manifest", "phone-worker"])
def test_nothing_of_the_app_answers_on_a_revoked_link(name, link):
    phone = phone_of(link)
    assert phone.get(at(link, name)).status_code == 200
    link_revoke(athlete=Athlete.objects.first(), by=None)
    assert phone.get(at(link, name)).status_code == 410
    assert Client().get(reverse(f"sessions:{name}", args=[link.token])).status_code == 410


# ---- small and quick ----


def test_the_first_load_of_today_stays_within_its_budget(link):
    page = open_page(link, "phone", **{"Accept-Encoding": "gzip"})
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


def test_a_page_the_phone_has_already_is_not_sent_again(link):
    for name in phone_app.PAGES:
        first = open_page(link, name)
        again = open_page(link, name, **{"If-None-Match": f"W/{first['ETag']}"})
        assert (again.status_code, again.content) == (304, b""), name
        assert open_page(link, name, **{"If-None-Match": '"other"'}).content == first.content


def test_no_page_holds_inline_script_or_style(link):
    for name in phone_app.PAGES:
        page = open_page(link, name).content.decode()
        assert not re.search(r"<script(?![^>]*\ssrc=)|<style|\sstyle=|\son\w+=", page), name


def test_every_page_costs_few_queries(link, django_assert_max_num_queries):
    phone = phone_of(link)
    with django_assert_max_num_queries(1):  # gym and limits of links are kept in memory for a moment
        phone.get(at(link))
    for name in phone_app.PAGES:
        # How far one has come is worked out anew, and rarely looked at.
        with django_assert_max_num_queries(17 if name == "phone-progress" else 6):
            phone.get(at(link, name))
