"""Publishing 1,000 athletes × 6 sessions × 5 stations against the raw insert of as many rows, in one run.

    DATA_DIR=$(mktemp -d) .venv/bin/python -m tests.benchmarks.publish [athletes]

Set DATABASE_URL for PostgreSQL. Everything is printed as a ratio to the raw insert on the same database.
"""

import json
import sys
import time
from copy import deepcopy

from django.conf import settings

from tests.benchmarks.beginning import prepare_site


def main(athletes: int) -> None:
    from django.db import transaction

    from athletes.models import Account
    from sessions.models import Publication, Target
    from sessions.publishing import run as publishing
    from sessions.publishing.rows import insert_ignoring_conflicts
    from sessions.publishing.write import publication_request
    from sessions.targets.compute import Computed
    from tests import gym

    fields = ["publication", "session", *Computed._fields]
    gym.furnish()
    gym.people(athletes)
    week = gym.planned_week(None, *[gym.circuit(five_stations())] * 6)
    coach = Account.objects.create_user("bench", password=None, role="coach", name="bench")
    steps = {}

    def timed(name, function, *args):
        start = time.perf_counter()
        function(*args)
        steps[name] = time.perf_counter() - start

    publication = publication_request(week=week, by=coach)
    Publication.objects.filter(pk=publication.pk).update(
        state="computing", claim="11111111-1111-4111-8111-111111111111"
    )
    publication.refresh_from_db()
    timed("work out and freeze targets", publishing.compute, publication)
    timed("render pages and boards", publishing.render, publication)
    timed("switch over", publishing.go_live, publication)

    rows = list(Target.objects.values_list(*fields))
    rows = [(*row[:-1], json.dumps(row[-1])) for row in rows]
    Target.objects.all().delete()
    timed("raw insert of the same rows", transaction.atomic(insert_ignoring_conflicts), Target, fields, rows)
    Target.objects.all().delete()
    names = [Target._meta.get_field(name).attname for name in fields]
    objects = [Target(**dict(zip(names, row, strict=True))) for row in rows]
    timed("bulk_create of the same rows", Target.objects.bulk_create, objects)

    raw = steps["raw insert of the same rows"]
    print(f"{len(rows)} rows, {athletes} athletes, {settings.DATABASES['default']['ENGINE']}")
    for name, seconds in steps.items():
        print(f"{name:32} {seconds:8.3f} s   {seconds / raw:6.2f} × raw insert")
    whole = sum(list(steps.values())[:3])
    print(f"{'publish, everything':32} {whole:8.3f} s   {whole / raw:6.2f} × raw insert")


def five_stations() -> dict:
    from tests.gym import DOCUMENT

    document = deepcopy(DOCUMENT)
    document["stations"] = (document["stations"] * 2)[:5]
    return document


if __name__ == "__main__":
    prepare_site()
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
