"""The phone page against a bare Django view with one query, called in process through WSGI, in one run.

    DATA_DIR=$(mktemp -d) .venv/bin/python -m tests.benchmarks.phone

The bare view runs with the middleware a new Django project begins with, with the site's own, and with none.
"""

import time
from wsgiref.util import setup_testing_defaults

from tests.benchmarks.beginning import prepare_site

ROUNDS, CALLS, ATHLETES = 7, 200, 200
# What a new Django project begins with.
DEFAULT_MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]


def main() -> None:
    from django.conf import settings
    from django.core.handlers.wsgi import WSGIHandler

    from athletes.links.write import link_issue
    from athletes.models import Account, Athlete
    from sessions.publishing import run as publishing
    from sessions.publishing.write import publication_request
    from tests import gym
    from tests.phones import asked_by

    gym.furnish()
    gym.people(ATHLETES)
    week = gym.planned_week(None, *[gym.circuit()] * 7)
    coach = Account.objects.create_user("bench", password=None, role="coach", name="bench")
    publishing.run(publication_request(week=week, by=coach).pk)
    home, cookie = asked_by(link_issue(athlete=Athlete.objects.first(), by=None).token)

    settings.ROOT_URLCONF = "tests.benchmarks.bare_site"  # the site's pages and the bare view
    full = WSGIHandler()
    full.load_middleware()
    settings.MIDDLEWARE = DEFAULT_MIDDLEWARE
    plain = WSGIHandler()
    plain.load_middleware()
    settings.MIDDLEWARE = []
    bare = WSGIHandler()
    bare.load_middleware()
    pages = {
        "phone page": (full, home),
        "my numbers": (full, f"{home}numbers/"),
        "bare view, our middleware": (full, "/bare/"),
        "bare view, none at all": (bare, "/bare/"),
        "bare view": (plain, "/bare/"),
    }
    best = dict.fromkeys(pages, 0.0)
    for _ in range(ROUNDS):  # interleaved, so that a slow spell of the machine hits all alike
        for name, (handler, path) in pages.items():
            best[name] = max(best[name], calls_per_second(handler, path, cookie))
    for name, rate in best.items():
        print(f"{name:28} {rate:8.0f} requests/s   {rate / best['bare view']:5.2f} of the bare view")


def calls_per_second(handler, path: str, cookie: str) -> float:
    start = time.perf_counter()
    for _ in range(CALLS):
        environ = {"PATH_INFO": path, "HTTP_COOKIE": cookie}
        setup_testing_defaults(environ)
        status = []
        body = b"".join(handler(environ, lambda line, headers, status=status: status.append(line)))
        assert status[0].startswith("200"), (status, body[:300])
    return CALLS / (time.perf_counter() - start)


if __name__ == "__main__":
    prepare_site()
    main()
