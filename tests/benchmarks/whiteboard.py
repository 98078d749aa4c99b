"""How long a circuit takes from text to document: 1,000 lines of ordinary stations, and one sheet as it is typed.

DATA_DIR=$(mktemp -d) .venv/bin/python -m tests.benchmarks.whiteboard
"""

import os
import time

import django

LINES = 1000
SHEETS = 200


def main() -> None:
    from sessions.circuits.text.reading import MOST_LINES, read
    from tests.circuits.text.test_reading import SHEET
    from tests.circuits.text.whiteboard import NAMES
    from tests.external.test_against_whiteboards import STATIONS

    usual = list(STATIONS)
    lines = [usual[n % len(usual)] for n in range(LINES)]
    sheets = ["\n".join(lines[n : n + MOST_LINES]) for n in range(0, LINES, MOST_LINES)]
    read(SHEET, NAMES)  # the grammar is made once a process
    began = time.perf_counter()
    for sheet in sheets:
        read(sheet, NAMES)
    took = time.perf_counter() - began
    print(f"{LINES} lines: {took * 1000:.0f} ms")
    times = []
    for _ in range(SHEETS):
        began = time.perf_counter()
        read(SHEET, NAMES)
        times.append(time.perf_counter() - began)
    times.sort()
    middle, least = times[len(times) // 2], times[0]
    print(f"a sheet of four lines: median {middle * 1000:.2f} ms, at best {least * 1000:.2f} ms")


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coachhub.settings")
    django.setup()
    main()
