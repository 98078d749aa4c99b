"""Starts PostgreSQL and Redis before Django reads its settings, when the run asks for them with COACHHUB_TEST_SERVICES.

Named in pyproject.toml with `-p`, because a conftest is read too late. TEST_DATABASE_URL and TEST_REDIS_URL name
servers that run already.
"""

import contextlib
import os

import pytest

from tests import servers

running = contextlib.ExitStack()


@pytest.hookimpl(tryfirst=True)
def pytest_load_initial_conftests() -> None:
    if os.environ.get("COACHHUB_TEST_SERVICES"):
        os.environ["DATABASE_URL"] = os.environ.get("TEST_DATABASE_URL") or running.enter_context(servers.postgresql())
        os.environ["REDIS_URL"] = os.environ.get("TEST_REDIS_URL") or running.enter_context(servers.redis())


def pytest_unconfigure() -> None:
    running.close()


def pytest_report_header() -> str:
    return "database: PostgreSQL, broker: Redis" if os.environ.get("REDIS_URL") else "database: SQLite, broker: folders"
