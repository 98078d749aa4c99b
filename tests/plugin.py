"""Gives each process of a run a data folder of its own before Django reads its settings.

When the run asks for services with COACHHUB_TEST_SERVICES, its first process starts one PostgreSQL and one Redis, in
which each process has a database of its own.

Named in pyproject.toml with `-p`, because a conftest is read too late. TEST_DATABASE_URL and TEST_REDIS_URL name
servers that run already.
"""

import contextlib
import os
import re
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
        started = {"TEST_DATABASE_URL": servers.postgresql, "TEST_REDIS_URL": servers.redis}
        for name, server in started.items():
            if name not in os.environ:  # the processes that this one starts find it set
                os.environ[name] = running.enter_context(server())
        os.environ["DATABASE_URL"] = os.environ["TEST_DATABASE_URL"]  # pytest-django gives each process its own there
        number = os.environ.get("PYTEST_XDIST_WORKER", "gw0").removeprefix("gw")
        os.environ["REDIS_URL"] = re.sub(r"/\d*$", f"/{number}", os.environ["TEST_REDIS_URL"])


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What takes longest begins first, so that no process ends much later than the others."""
    items.sort(key=lambda item: item.get_closest_marker("services") is None)


def pytest_unconfigure() -> None:
    running.close()


def pytest_report_header() -> str:
    return "database: PostgreSQL, broker: Redis" if os.environ.get("REDIS_URL") else "database: SQLite, broker: folders"
