"""Whether a web server answers. Run as a program, on the standard library alone, it is the image's health check."""

import sys
from http.client import HTTPException
from urllib.error import HTTPError
from urllib.request import Request, urlopen


def answers(address: str) -> bool:
    """Whether coachhub answers at `address`; it is called by a name that it always answers to.

    503 counts: it says that publishing waits for a worker, which may itself be waiting for this very answer.
    """
    try:
        with urlopen(Request(f"{address}/healthy", headers={"Host": "localhost"}), timeout=5) as answer:
            return answer.status == 200
    except HTTPError as error:
        return error.code == 503
    except (OSError, HTTPException):
        return False


if __name__ == "__main__":
    sys.exit(not answers("http://127.0.0.1:8000"))
