"""Every benchmark still runs: each is started at a small size, in a process of its own. No figure is looked at."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.services.test_worker import database_url

# What each is called with, and the sizes it takes from its own constants.
SIZES = {
    "clock": ((3, 1.0), {"WORKERS": "1"}),
    "clock_cost": ((), {"ROUNDS": 1, "CALLS": 2, "PHONES": 3}),
    "grid": ((), {"PEOPLE": 2, "SECONDS": 1.0, "ATHLETES": 10}),
    "imports": ((20,), {"ATHLETES": 10}),
    "mixed": ((), {"ATHLETES": 3, "SECONDS": 0.5, "CONNECTIONS": 4, "RATES": (20,), "REQUESTS": 20, "PUBLISHINGS": 2}),
    "phone": ((), {"ROUNDS": 1, "CALLS": 2, "ATHLETES": 3}),
    "phone_load": ((), {"ROUNDS": 1, "ATHLETES": 3}),
    "progress": ((), {"ROUNDS": 1, "CALLS": 1, "YEARS": 1, "LOGS": 3}),
    "publish": ((5,), {}),
    "web_servers": (("as coachhub runs",), {"SECONDS": 0.5, "PHONES": 2, "SILENT": 20, "HALF_SENT": 5, "ASKED": 2}),
    "weeks": ((), {"YEARS": 1, "ATHLETES": 3, "CALLS": 1, "CIRCUITS": 3, "FIRST_WEEKS": 1}),
    "whiteboard": ((), {"LINES": 60, "SHEETS": 2}),
    "workers": ((3, 2), {"SESSIONS": 1, "CROWDS": (1,)}),
    "preview": ((), {"CROWDS": (3,), "CALLS": 2}),
    "scaling_speed": ((), {"ATHLETES": 40, "SAMPLE": 4, "CROWDS": (40,), "LEAST_S": 0.0}),
}
START = """
import os, django
django.setup()
from tests.benchmarks import {name} as benchmark
for constant, size in {constants}.items():
    assert hasattr(benchmark, constant), constant
    setattr(benchmark, constant, size)
benchmark.prepare() if hasattr(benchmark, "prepare") else None
benchmark.main(*{arguments})
"""


def test_each_has_a_size_to_be_tried_at():
    found = {path.stem for path in Path(__file__).parent.glob("*.py") if "\ndef main(" in path.read_text()}
    assert found == set(SIZES)


@pytest.mark.parametrize("name", SIZES)
@pytest.mark.django_db(transaction=True)
def test_it_runs(name, tmp_path):
    arguments, constants = SIZES[name]
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "tests.settings", "DATABASE_URL": database_url()}
    environment |= {"TEST_BOARDS": str(tmp_path), "DJANGO_ALLOW_ASYNC_UNSAFE": "true"}
    code = START.format(name=name, arguments=arguments, constants=constants)
    done = subprocess.run([sys.executable, "-c", code], env=environment, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr[-3000:]
    assert done.stdout
