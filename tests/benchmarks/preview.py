"""From a key to the room: how long the server takes to read a sheet, and to show everyone's targets beside it.

    DATA_DIR=$(mktemp -d) .venv/bin/python -m tests.benchmarks.preview

Six stations, a letter more with every call. The page itself waits 120 ms for the next key before it asks for the
readings, and 250 ms before it asks for the room.
"""

import os
import time

import django

CROWDS = (42, 245)
CALLS = 30
SHEET = """every minute, 36 min
12-14 cal row, or bike
5-7 strict pull-ups, or 11 ring rows
10 goblet squats at 24 kg
9 cal bike
14 ring rows
200 m run"""


def main() -> None:
    from django.test import Client

    from athletes.models import Account
    from tests import gym

    coach = Account.objects.create_user("bench", password=None, role="coach", name="bench")
    client = Client(HTTP_HOST="localhost")
    client.force_login(coach, backend="django.contrib.auth.backends.ModelBackend")
    gym.furnish()
    here = 0
    for crowd in CROWDS:
        gym.people(crowd - here)
        here = crowd
        for page, path in (("reading", "/circuits/reading/"), ("room", "/circuits/preview/")):
            times = [seconds(client, path, n) for n in range(CALLS)]
            times = sorted(times[1:])
            middle, late = times[len(times) // 2], times[min(len(times) * 95 // 100, len(times) - 1)]
            print(f"{crowd:4} athletes, {page:8} median {middle * 1000:6.0f} ms   p95 {late * 1000:6.0f} ms")


def seconds(client, path: str, letters: int) -> float:
    sent = {"text": f"{SHEET}; {'x' * letters}", "mode": "text", "intent": "hard"}
    began = time.perf_counter()
    answer = client.post(path, sent)
    took = time.perf_counter() - began
    assert answer.status_code == 200
    assert "data-line" in answer.content.decode() or "room-table" in answer.content.decode()
    return took


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
