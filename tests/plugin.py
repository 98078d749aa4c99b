"""Gives each process of a run a data folder of its own before Django reads its settings, and starts PostgreSQL and
Redis when the run asks for them with COACHHUB_TEST_SERVICES.

Named in pyproject.toml with `-p`, because a conftest is read too late. TEST_DATABASE_URL and TEST_REDIS_URL name
servers that run already.
"""

import contextlib
import os
import tempfile

import pytest

from tests import servers

running = contextlib.ExitStack()


@pytest.hookimpl(tryfirst=True)
def pytest_load_initial_conftests() -> None:
    # Processes side by side would else take each other's tasks out of one folder of messages.
    os.environ["DATA_DIR"] = running.enter_context(
        tempfile.TemporaryDirectory(prefix="coachhub-tests-", ignore_cleanup_errors=True)
    )
    if os.environ.get("COACHHUB_TEST_SERVICES"):
        os.environ["DATABASE_URL"] = os.environ.get("TEST_DATABASE_URL") or running.enter_context(servers.postgresql())
        os.environ["REDIS_URL"] = os.environ.get("TEST_REDIS_URL") or running.enter_context(servers.redis())


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What takes longest begins first, so that no process ends much later than the others."""
    items.sort(key=lambda item: item.get_closest_marker("services") is None)


def pytest_unconfigure() -> None:
    running.close()


def pytest_report_header() -> str:
    return "database: PostgreSQL, broker: Redis" if os.environ.get("REDIS_URL") else "database: SQLite, broker: folders"
