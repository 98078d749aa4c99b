"""The progress page and report of an athlete with ten years of data, against a bare view with one query, in one run.

    DATA_DIR=$(mktemp -d) .venv/bin/python -m tests.benchmarks.progress

Ten years: a benchmark effort every week, and three logged sessions a week for the last half year that the page shows.
The same pages of an athlete with a single effort stand beside them.
"""

import time
from datetime import timedelta
from uuid import uuid4
from wsgiref.util import setup_testing_defaults

from tests.benchmarks.beginning import prepare_site

ROUNDS, CALLS = 5, 5
YEARS, LOGS = 10, 78


def main() -> None:
    from django.conf import settings
    from django.core.handlers.wsgi import WSGIHandler
    from django.test import Client

    from athletes.gym.read import today
    from athletes.models import Account

    coach = Account.objects.create_user("bench", password=None, role="coach", name="bench")
    long, short = furnish(coach)
    client = Client(HTTP_HOST="localhost")
    client.force_login(coach, backend="django.contrib.auth.backends.ModelBackend")
    cookie = client.cookies[settings.SESSION_COOKIE_NAME].value
    settings.ROOT_URLCONF = "tests.benchmarks.bare_site"
    handler = WSGIHandler()
    handler.load_middleware()
    since = today() - timedelta(days=700)
    pages = {
        "bare view": "/bare/",
        "progress, one effort": f"/athletes/{short}/progress/",
        "progress, ten years": f"/athletes/{long}/progress/",
        "report, one effort": f"/athletes/{short}/report.pdf",
        "report, ten years": f"/athletes/{long}/report.pdf?from={since}",
        "progress of the gym": "/progress/",
    }
    best = dict.fromkeys(pages, float("inf"))
    for _ in range(ROUNDS):  # interleaved, so that a slow spell of the machine hits all alike
        for name, path in pages.items():
            best[name] = min(best[name], seconds_a_call(handler, path, cookie))
    for name, seconds in best.items():
        print(f"{name:24} {1000 * seconds:8.1f} ms   {seconds / best['bare view']:7.1f} × the bare view")


def furnish(coach) -> tuple[int, int]:
    """An athlete with ten years of efforts and half a year of logs, and one with hardly any; their ids."""
    from athletes.estimates.write import estimates_refresh
    from athletes.gym.read import today
    from athletes.models import Benchmark, Effort
    from sessions.models import Log, LogEntry, PublishedSession
    from sessions.publishing import run as publishing
    from sessions.publishing.write import publication_request
    from tests import gym

    gym.furnish()
    long, short = gym.people(2)
    week = gym.planned_week(gym.this_monday() - timedelta(weeks=1))
    publishing.run(publication_request(week=week, by=coach).pk)
    session = PublishedSession.objects.get()
    benchmarks = list(Benchmark.objects.select_related("movement"))
    results = {"time_for_distance": 420, "calories_in_time": 20, "repetitions": 10, "lift": 60}
    Effort.objects.bulk_create(
        Effort(
            athlete=long, benchmark=benchmark, value=results[benchmark.measure] + n % 7, fixed=benchmark.fixed,
            repetitions=5 if benchmark.measure == "lift" else None, typed="x",
            performed_on=today() - timedelta(weeks=n),
        )
        for n in range(52 * YEARS) for benchmark in [benchmarks[n % len(benchmarks)]]
    )  # fmt: skip
    for n in range(LOGS):
        day = today() - timedelta(days=1 + 7 * n // 3)
        log = Log.objects.create(
            key=uuid4(), athlete=long, session=session, session_key=uuid4(), date=day, rpe=7, source="phone",
            done_at="2026-01-01T12:00Z",
        )  # fmt: skip
        LogEntry.objects.bulk_create(
            LogEntry(log=log, station=s, rounds=5, dose=10, asked_rounds=5, asked_dose=10) for s in (1, 2, 3)
        )
    estimates_refresh()
    return long.pk, short.pk


def seconds_a_call(handler, path: str, cookie: str) -> float:
    path, _, query = path.partition("?")
    start = time.perf_counter()
    for _ in range(CALLS):
        environ = {"PATH_INFO": path, "QUERY_STRING": query, "HTTP_COOKIE": f"sessionid={cookie}"}
        setup_testing_defaults(environ)
        status = []
        body = b"".join(handler(environ, lambda line, headers, status=status: status.append(line)))
        assert status[0].startswith("200"), (status, body[:300])
    return (time.perf_counter() - start) / CALLS


if __name__ == "__main__":
    prepare_site()
    main()
