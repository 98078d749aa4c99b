"""Whether a web server answers. Run as a program, on the standard library alone, it is the image's health check."""

import os
import sys
from http.client import HTTPException
from urllib.error import HTTPError
from urllib.parse import urlsplit
from urllib.request import Request, urlopen


def answers(address: str, host: str) -> bool:
    """Whether coachhub answers at `address` when it is called by the name `host`, which it may insist on.

    503 counts: it says that publishing waits for a worker, which may itself be waiting for this very answer.
    """
    try:
        with urlopen(Request(f"{address}/healthy", headers={"Host": host}), timeout=5) as answer:
            return answer.status == 200
    except HTTPError as error:
        return error.code == 503
    except (OSError, HTTPException):
        return False


def allowed_host(names: list[str]) -> str:
    """A name out of ALLOWED_HOSTS that the server accepts."""
    return next((name.removeprefix(".") for name in names if name != "*"), "localhost")


if __name__ == "__main__":
    named = os.environ.get("ALLOWED_HOSTS") or urlsplit(os.environ.get("SITE_URL", "")).hostname or "*"
    sys.exit(not answers("http://127.0.0.1:8000", allowed_host([name.strip() for name in named.split(",")])))
