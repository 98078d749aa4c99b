"""Processor time of one question for the clock against a bare view with one query, called in process through WSGI.

    DATA_DIR=$(mktemp -d) .venv/bin/python -m tests.benchmarks.clock_cost

What tests.benchmarks.clock measures from outside depends on what else the machine does; this hardly does.
"""

import time
from wsgiref.util import setup_testing_defaults

from tests.benchmarks.beginning import prepare_site

ROUNDS, CALLS, PHONES = 9, 150, 100


def main() -> None:
    from django.conf import settings

    from tests.benchmarks.clock import furnish
    from tests.benchmarks.phone import DEFAULT_MIDDLEWARE
    from tests.phones import asked_by

    [token, *_], press = furnish(PHONES)
    for _ in range(4):
        press()
    settings.ROOT_URLCONF = "tests.benchmarks.bare_site"
    site = handler()
    settings.MIDDLEWARE = DEFAULT_MIDDLEWARE
    plain = handler()
    home, cookie = asked_by(token)
    clock = f"{home}clock/"
    tag = call(site, clock, cookie)[1]["ETag"]
    asked = {
        "bare view": (plain, "/bare/", ""),
        "clock, nothing new": (site, clock, tag),
        "clock, something new": (site, clock, ""),
        "today's page": (site, home, ""),
    }
    least = dict.fromkeys(asked, float("inf"))
    for _ in range(ROUNDS):  # interleaved, so that a slow spell of the machine hits all alike
        for name, (where, path, known) in asked.items():
            begin = time.process_time()
            for _ in range(CALLS):
                call(where, path, cookie, known)
            least[name] = min(least[name], (time.process_time() - begin) / CALLS)
    for name, seconds in least.items():
        print(f"{name:22} {1e6 * seconds:6.0f} µs {seconds / least['bare view']:5.2f} of the bare view")


def handler():
    """The whole site, with the middleware that the settings name now."""
    from django.core.handlers.wsgi import WSGIHandler

    made = WSGIHandler()
    made.load_middleware()
    return made


def call(where, path: str, cookie: str, known: str = "") -> tuple[str, dict]:
    """(status, headers) of one request."""
    environ = {"PATH_INFO": path, "HTTP_COOKIE": cookie, "HTTP_IF_NONE_MATCH": known}
    setup_testing_defaults(environ)
    answers = []
    b"".join(where(environ, lambda status, headers: answers.append((status, dict(headers)))))
    assert answers[0][0][:3] in ("200", "304"), answers
    return answers[0]


if __name__ == "__main__":
    prepare_site()
    main()
