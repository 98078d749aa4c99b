"""Importing a file against the bare bulk insert of the same efforts, in one run; and how memory grows with the file.

    DATA_DIR=$(mktemp -d) .venv/bin/python -m tests.benchmarks.imports [rows]

Set DATABASE_URL for PostgreSQL. Everything is printed as a ratio to the bare insert on the same database.
"""

import io
import resource
import sys
import time
from collections.abc import Callable
from unittest.mock import patch
from uuid import uuid4

from django.conf import settings
from openpyxl import Workbook

from tests.benchmarks.beginning import prepare_site

ATHLETES = 1000
HEADINGS = ["Athlete", "Benchmark", "Result", "Date"]


def main(rows: int) -> None:
    from athletes.estimates.write import estimates_refresh
    from athletes.importing.run import run
    from athletes.models import Account, Effort
    from tests import gym

    gym.furnish()
    gym.people(ATHLETES)
    patch("athletes.importing.read.AT_ONCE", 0).start()  # `run` is called here, and timed
    own = set(Effort.objects.values_list("pk", flat=True))
    coach = Account.objects.create_user("bench", password=None, role="coach", name="bench")
    print(f"{rows} rows, {ATHLETES} athletes, {settings.DATABASES['default']['ENGINE']}")
    seconds = {}
    for kind, content in (("CSV", as_csv(results(rows))), ("XLSX", as_xlsx(results(rows)))):
        Effort.objects.exclude(pk__in=own).delete()
        source = begin(content, kind, coach)
        seconds[f"{kind}: check"] = timed(run, source.pk)
        accept(source)
        with without_estimates():
            seconds[f"{kind}: keep, without estimates"] = timed(run, source.pk)
        again = begin(content, kind, coach)
        run(again.pk)
        accept(again)
        seconds[f"{kind}: keep the same again"] = timed(run, again.pk)
        print(f"after {kind}: at most {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB in use")
    kept = list(Effort.objects.exclude(pk__in=own))
    seconds["estimates of everyone, once"] = timed(lambda: estimates_refresh())
    Effort.objects.exclude(pk__in=own).delete()
    for effort in kept:
        effort.pk = None
    bare = timed(insert, kept)
    print(f"bare insert of {len(kept)} efforts: {bare:.2f} s, {len(kept) / bare:,.0f} rows a second")
    for name, taken in seconds.items():
        print(f"{name:32} {taken:8.2f} s   {rows / taken:9,.0f} rows a second   {taken / bare:6.2f} × bare insert")


def insert(efforts: list) -> None:
    from django.db import transaction

    from athletes.models import Effort

    with transaction.atomic():
        Effort.objects.bulk_create(efforts, batch_size=1000)


def results(rows: int) -> list[list[str]]:
    """Rows of athletes who are here, in four benchmarks, on many days; each is a result of its own."""
    tests = [
        ("2k row", "7:{0:02d}.{1}"),
        ("Pull-ups", "{2}"),
        ("1500 m run", "6:{0:02d}.{1}"),
        ("goblet squat", "{3}x5"),
    ]
    found = []
    for n in range(rows):
        name, how = tests[n // ATHLETES % 4]
        turn = n // (4 * ATHLETES)
        day = f"{2024 + turn % 2}-{1 + turn // 2 % 12:02d}-{1 + turn // 24 % 28:02d}"
        typed = how.format(n % 60, turn % 10, 3 + n % 20, 20 + n % 40)
        found.append([f"Athlete {n % ATHLETES:04d}", name, typed, day])
    return found


def as_csv(rows: list[list[str]]) -> bytes:
    return "\r\n".join(",".join(row) for row in [HEADINGS, *rows]).encode()


def as_xlsx(rows: list[list[str]]) -> bytes:
    book, file = Workbook(write_only=True), io.BytesIO()
    sheet = book.create_sheet("Results")
    for row in [HEADINGS, *rows]:
        sheet.append(row)
    book.save(file)
    return file.getvalue()


def begin(content: bytes, kind: str, by):
    from athletes.importing.write import import_begin, import_check

    source = import_begin(key=uuid4(), filename=f"results.{kind.lower()}", content=content, by=by)
    import_check(source=source)
    return source


def accept(source) -> None:
    from athletes.importing.write import import_keep

    source.refresh_from_db()
    assert source.state == "checked", source.failure
    import_keep(source=source, create_athletes=False)


def timed(function: Callable, *arguments) -> float:
    start = time.perf_counter()
    function(*arguments)
    return time.perf_counter() - start


def without_estimates():
    """Estimates are measured on their own."""
    return patch("athletes.importing.run.estimates_refresh")


if __name__ == "__main__":
    prepare_site()
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 50_000)
