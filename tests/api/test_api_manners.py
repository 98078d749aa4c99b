"""How the API behaves whatever it is asked: errors, parameters, ETags, requests that are sent twice."""

from uuid import uuid4

import pytest
from django.test import Client

from athletes.links.write import link_issue
from athletes.models import ApiAnswer, Athlete, Effort
from tests import gym
from tests.conftest import JSON, api_of

ATHLETES = "/api/v1/athletes/"


@pytest.fixture
def api(furnished, coach) -> Client:
    gym.people(3)
    return api_of(coach)


def test_who_is_nobody_is_told_how_to_sign_in(furnished):
    for headers in ({}, {"Authorization": "Token none"}, {"Authorization": "Link none"}):
        answer = Client(headers=headers).get(ATHLETES)
        assert (answer.status_code, answer.headers["WWW-Authenticate"]) == (401, "Token")


@pytest.mark.parametrize("method", ["get", "post", "put", "patch", "delete"])
@pytest.mark.parametrize("path", ["/api/v1/nowhere/at/all/", "/api/", "/api/v2/athletes/", "/api/v2"])
def test_a_path_that_is_none_is_told_as_json(api, method, path):
    answer = getattr(api, method)(path)
    assert (answer.status_code, answer.json()["status"]) == (404, 404)
    assert path in answer.json()["detail"]


def test_a_path_without_its_stroke_is_shown_the_way(api):
    answer = api.get("/api/v1/athletes?search=0001")
    assert (answer.status_code, answer.headers["Location"]) == (301, "/api/v1/athletes/?search=0001")


@pytest.mark.parametrize(
    ("query", "field"),
    [("colour=red", "colour"), ("page_size=0", "page_size"), ("page_size=501", "page_size"),
     ("page_size=many", "page_size"), ("ordering=shoe", "ordering"), ("active=perhaps", "active")],
)  # fmt: skip
def test_a_parameter_that_means_nothing_is_refused(api, query, field):
    answer = api.get(f"{ATHLETES}?{query}")
    assert answer.status_code == 400
    assert list(answer.json()["errors"]) == [field]


def test_a_list_is_searched_ordered_and_cut(api):
    Athlete.objects.filter(name="Athlete 0001").update(name="Łukasz Åsheim")
    names = lambda query: [row["name"] for row in api.get(f"{ATHLETES}?{query}").json()["results"]]  # noqa: E731
    assert names("search=asheim LUKASZ") == ["Łukasz Åsheim"]
    assert names("ordering=-name&page_size=2") == ["Łukasz Åsheim", "Athlete 0002"]
    assert names("ordering=-name&page_size=2&page=2") == ["Athlete 0000"]


def test_a_change_is_refused_where_the_row_has_moved_on(api):
    address = f"{ATHLETES}{Athlete.objects.first().pk}/"
    tag = api.get(address).headers["ETag"]
    assert api.get(address, headers={"If-None-Match": tag}).status_code == 304
    changed = api.patch(address, {"name": "Ada Stone"}, **JSON, headers={"If-Match": tag})
    assert changed.status_code == 200
    assert changed.headers["ETag"] == api.get(address).headers["ETag"] != tag
    late = api.patch(address, {"name": "Ida Stone"}, **JSON, headers={"If-Match": tag})
    assert (late.status_code, "changed meanwhile" in late.json()["detail"]) == (412, True)
    assert api.patch(address, {"name": "Eda Stone"}, **JSON, headers={"If-Match": "*"}).status_code == 200


@pytest.mark.parametrize("what", ["movements", "benchmarks", "circuits", "weeks"])
def test_whatever_can_be_edited_has_an_etag(api, what):
    gym.planned_week()
    row = api.get(f"/api/v1/{what}/").json()["results"][0]["id"]
    tag = api.get(f"/api/v1/{what}/{row}/").headers["ETag"]
    assert api.get(f"/api/v1/{what}/{row}/", headers={"If-None-Match": tag}).status_code == 304


def test_sent_again_under_the_same_key_it_is_done_once_and_answered_alike(api):
    key, sent = {"Idempotency-Key": str(uuid4())}, {"name": "Ada Stone", "board_name": "Ada"}
    first, again = (api.post(ATHLETES, sent, **JSON, headers=key) for _ in range(2))
    assert (first.status_code, again.status_code, first.json()) == (201, 201, again.json())
    assert Athlete.objects.filter(name="Ada Stone").count() == 1
    other = api.post(ATHLETES, {**sent, "name": "Ida"}, **JSON, headers=key)
    assert (other.status_code, "Use a new key" in other.json()["detail"]) == (422, True)


def test_what_was_refused_may_be_sent_right_under_the_same_key(api):
    key, effort = {"Idempotency-Key": "mine"}, {"athlete": Athlete.objects.first().pk, "performed_on": "2026-11-03"}
    effort |= {"benchmark": gym.Benchmark.objects.get(slug="2000-m-row").pk, "typed": "soon"}
    assert api.post("/api/v1/efforts/", effort, **JSON, headers=key).status_code == 400
    assert not ApiAnswer.objects.exists()
    for _ in range(2):
        assert api.post("/api/v1/efforts/", {**effort, "typed": "7:02"}, **JSON, headers=key).status_code == 201
    assert Effort.objects.filter(typed="7:02").count() == 1


@pytest.mark.parametrize("nested", ["[" * 50_000, '{"a":' * 50_000])
def test_json_that_is_nested_without_end_is_refused_in_words(api, nested):
    link = link_issue(athlete=Athlete.objects.first(), by=None)
    phone = Client(headers={"Authorization": f"Link {link.token}"})
    for client, path in ((api, "/api/v1/circuits/read/"), (api, ATHLETES), (phone, "/api/v1/my/logs/")):
        answer = client.post(path, nested, **JSON)
        assert (answer.status_code, answer.json()["detail"]) == (400, "The JSON is nested too deeply.")
