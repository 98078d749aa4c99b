"""The API against its own OpenAPI schema, with inputs nobody thought of (schemathesis)."""

import os

import pytest
import schemathesis
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from drf_spectacular.generators import SchemaGenerator
from hypothesis import HealthCheck, settings
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    negative_data_rejection,
    response_schema_conformance,
    status_code_conformance,
)

from athletes.accounts.write import token_replace
from athletes.gym.read import today
from athletes.models import TestDay
from coachhub.wsgi import application
from tests import gym

EXAMPLES = int(os.environ.get("API_EXAMPLES", "4"))  # by hand: API_EXAMPLES=100
CHECKS = [
    schemathesis.checks.not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
    negative_data_rejection,
]

schema = schemathesis.openapi.from_dict(SchemaGenerator().get_schema(request=None, public=True))
schema.app = application


@pytest.fixture
def token(furnished, coach) -> str:
    gym.people(2)
    gym.planned_week()
    TestDay.objects.create(date=today(), starts_at="18:00")
    return token_replace(account=coach)


@pytest.fixture(autouse=True)
def _connection_stays_open():
    """These requests come inside a test's transaction, so none of them may end the connection."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


@schema.parametrize()
@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
def test_no_input_breaks_the_api(case, token):
    headers = {"Authorization": f"Token {token}"}
    case.call_and_validate(headers=headers, checks=CHECKS)


def test_the_schema_is_openapi_3_and_the_page_about_it_opens(furnished, staff_client):
    body = staff_client.get("/api/v1/schema/?format=json").json()
    assert body["openapi"].startswith("3.")
    for path, operations in body["paths"].items():
        for method, operation in operations.items():
            names = {parameter["name"] for parameter in operation.get("parameters", ())}
            assert "ordering" not in names or "page" in names, (method, path)  # what is refused is not offered
    assert "/api/v1/weeks/{id}/publish/" in body["paths"]
    assert "post" in body["paths"]["/api/v1/room-preview/"]
    assert staff_client.get("/api/v1/docs/").status_code == 200
