"""A few kills of everything; tests/services/killing.py does hundreds by hand."""

import subprocess
import sys

import pytest
from django.conf import settings

SMALL = """
from tests.services import killing
killing.ATHLETES, killing.ROWS, killing.BETWEEN_S = 30, 120, (0.2, 1.5)
killing.VICTIMS = ("worker", "web", "redis", "postgresql", "scheduler")
found = killing.main(5, seed=3)
assert found["logs"] and found["imports"] and found["publishings"], found
"""


@pytest.mark.services
def test_nothing_is_lost_doubled_or_half_done_however_everything_is_killed():
    done = subprocess.run([sys.executable, "-c", SMALL], cwd=settings.BASE_DIR, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr[-3000:]
