"""Step 2: a list of people, read and kept. Results need benchmarks: where there are none the library comes along."""

from datetime import date

from django.db import transaction

from athletes.benchmarks.starter import starter_benchmarks, starter_load
from athletes.importing.typed import Taken, people_keep, people_read
from athletes.models import Account, Benchmark


def list_read(*, text: str, day: date, by: Account) -> Taken:
    """What keeping the list would do: read against the gym's benchmarks, or the library's where there are none."""
    library = None if Benchmark.objects.exists() else starter_benchmarks()
    return people_read(text=text, day=day, by=by, benchmarks=library)


@transaction.atomic
def list_keep(*, text: str, day: date, by: Account) -> Taken:
    """Keep the list, and load the library where one of its results needs it."""
    if not Benchmark.objects.exists() and list_read(text=text, day=day, by=by).results:
        starter_load()
    return people_keep(text=text, day=day, by=by)
