"""Stops what `start` left behind when it was killed and could not do it itself.

Run as a program of its own, on the standard library alone. Each line on its input names the process groups to stop
if no further line comes; when the input ends, `start` is gone, however that came about.
"""

import os
import signal
import sys
import time
from contextlib import suppress

GRACE_S = 10.0  # for a request or a step of publishing to be finished
POLL_S = 0.1


def alive(group: int) -> bool:
    with suppress(ProcessLookupError):
        os.killpg(group, 0)
        return True
    return False


def stop(groups: list[int]) -> None:
    """Ask the process groups to end, and make them when they do not."""
    for group in groups:
        with suppress(ProcessLookupError):
            os.killpg(group, signal.SIGTERM)
    end = time.monotonic() + GRACE_S
    while time.monotonic() < end and any(alive(group) for group in groups):
        time.sleep(POLL_S)
    for group in groups:
        with suppress(ProcessLookupError):
            os.killpg(group, signal.SIGKILL)


if __name__ == "__main__":
    named: list[int] = []
    for line in sys.stdin:
        named = [int(word) for word in line.split()]
    stop(named)
