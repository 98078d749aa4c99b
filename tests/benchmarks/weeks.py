"""Pages of the desk in a gym with three years of weeks: the week, home, the library, the review, a build.

    DATA_DIR=$(mktemp -d) DEBUG=true .venv/bin/python -m tests.benchmarks.weeks

Each is asked for as a coach who is signed in does; the ratio is to the same page in a gym's first month.
"""

import os
import time
from datetime import time as hour
from datetime import timedelta

import django

YEARS = 3
ATHLETES = 42
CALLS = 12
CIRCUITS = 60
FIRST_WEEKS = 4


def main() -> None:
    from django.test import Client

    from athletes.models import Account
    from sessions.models import Circuit
    from tests import gym

    coach = Account.objects.create_user("bench", password=None, role="coach", name="bench")
    client = Client(HTTP_HOST="localhost")
    client.force_login(coach, backend="django.contrib.auth.backends.ModelBackend")
    gym.furnish()
    gym.people(ATHLETES)
    circuits = [gym.circuit({**gym.DOCUMENT, "name": f"Circuit {n}"}) for n in range(CIRCUITS)]
    monday = gym.this_monday()
    planned(circuits, monday, range(FIRST_WEEKS))
    young = measured(client, monday, Circuit.objects.first().pk)
    planned(circuits, monday, range(FIRST_WEEKS, 52 * YEARS))
    old = measured(client, monday, Circuit.objects.first().pk)
    for name in old:
        times = old[name] / young[name]
        print(f"{name:8} median {old[name] * 1000:6.0f} ms after {YEARS} years, {times:5.2f} × the first month")


def planned(circuits, monday, weeks) -> None:
    """A session on every day of these weeks before `monday`, and of the week that begins on it."""
    from sessions.models import PlannedSession
    from sessions.weeks.write import session_plan, week_ensure

    for back in weeks:
        week = week_ensure(monday - timedelta(days=7 * back))
        for weekday in range(7):
            circuit = circuits[(7 * back + weekday) % len(circuits)]
            session_plan(planned=PlannedSession(week=week, weekday=weekday, circuit=circuit), hours=[hour(6), hour(18)])


def measured(client, monday, circuit: int) -> dict[str, float]:
    year, number, _ = monday.isocalendar()
    week = f"/weeks/{year}-W{number:02d}/"
    pages = {
        "week": week,
        "home": "/",
        "library": "/circuits/?find=pull-up",
        "review": f"{week}review/",
        "build": f"/builds/new/?circuit={circuit}",
    }
    return {name: median(client, path) for name, path in pages.items()}


def median(client, path: str) -> float:
    times = []
    for _ in range(CALLS):
        began = time.perf_counter()
        answer = client.get(path)
        times.append(time.perf_counter() - began)
        assert answer.status_code == 200, path
    return sorted(times)[len(times) // 2]


def prepare() -> None:
    from django.conf import settings
    from django.core.management import call_command

    settings.ALLOWED_HOSTS = ["*"]
    call_command("migrate", verbosity=0)


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coachhub.settings")
    django.setup()
    prepare()
    main()
