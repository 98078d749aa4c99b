"""Errors of the API against RFC 9457 (Problem Details for HTTP APIs), section 3, and its examples.

The members of every problem and their types are those of section 3.1; about:blank and its title those of section 4.2.1;
the media type that of section 3, checked beside the status as in the example of section 3 (“403 Forbidden”).
"""

from http import HTTPStatus

import pytest
from django.test import Client

from athletes.models import Athlete, Benchmark
from tests import gym
from tests.conftest import JSON, api_of

KEY, DONE = "6f1d3c0e-4c43-5c0b-9f0a-2f6f1d7a8e51", "2026-11-03T19:00:00Z"
WRONG = [
    ("get", "/api/v1/nowhere/", None, 404),
    ("get", "/api/v1/athletes/999999/", None, 404),
    ("get", "/api/v1/athletes/?page=99", None, 404),
    ("get", "/api/v1/athletes/?shoe=1", None, 400),
    ("post", "/api/v1/athletes/", {"name": ""}, 400),
    ("delete", "/api/v1/athletes/1/", None, 405),
    (
        "post",
        "/api/v1/my/logs/",
        {"key": KEY, "session_key": KEY, "date": "2026-11-03", "done_at": DONE, "entries": []},
        403,
    ),
    ("post", "/api/v1/efforts/", {"athlete": 0, "benchmark": 0, "typed": "5:00", "performed_on": "2026-11-03"}, 409),
]


@pytest.fixture
def api(furnished, coach) -> Client:
    gym.people(1)
    return api_of(coach)


@pytest.mark.parametrize(("method", "path", "sent", "code"), WRONG)
def test_an_error_is_a_problem_with_the_members_of_section_3(api, method, path, sent, code):
    if sent and "benchmark" in sent:  # whatever numbers the database gave them
        sent = {**sent, "athlete": Athlete.objects.get().pk, "benchmark": Benchmark.objects.earliest("pk").pk}
    answer = getattr(api, method)(path, *([sent] if sent else []), **JSON)
    assert (answer.status_code, answer.headers["Content-Type"]) == (code, "application/problem+json")
    said = answer.json()
    assert said["type"] == "about:blank"  # 4.2.1: then the title SHOULD be the phrase of the status
    assert said["title"] == HTTPStatus(code).phrase
    assert said["status"] == code  # 3.1.3: a JSON number, the same as the status
    assert isinstance(said["detail"], str)
    assert said["detail"]


def test_a_body_that_cannot_be_read_and_a_type_that_is_not_are_problems_too(api):
    bad = api.post("/api/v1/athletes/", "{", content_type="application/json")
    other = api.post("/api/v1/athletes/", "x", content_type="text/plain")
    nobody = Client(headers={"Authorization": "Token x"}).get("/api/v1/athletes/")
    for answer, code in ((bad, 400), (other, 415), (nobody, 401)):
        assert (answer.status_code, answer.headers["Content-Type"]) == (code, "application/problem+json")
        assert answer.json()["status"] == code


def test_errors_by_field_are_an_extension_member(api):
    """Section 3.2: a problem may have further members, as the list of errors in the RFC's validation example."""
    said = api.post("/api/v1/athletes/", {"name": "Ada", "body_mass_kg": 900}, **JSON).json()
    assert set(said) == {"type", "title", "status", "detail", "errors"}
    assert set(said["errors"]) == {"board_name", "body_mass_kg"}
