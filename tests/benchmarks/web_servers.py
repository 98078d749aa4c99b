"""Web servers beside each other: how fast the page of a phone is, and whether the site answers while others hang on it.

    DATA_DIR=$(mktemp -d) .venv/bin/python -m tests.benchmarks.web_servers [server …]

Each runs with two processes. 250 connections hang on it: 200 say nothing, 25 stop in the middle of the headers, 25 in
the middle of a body for a page that reads it. Then /healthy is asked twenty times, and phones load their page with and
without the others. The servers that are not in requirements.txt are left out unless they are installed.
"""

import http.client
import importlib.util
import os
import signal
import socket
import statistics
import subprocess
import sys
import threading
import time

from tests.benchmarks.beginning import prepare_site
from tests.benchmarks.phone_load import furnished_phone
from tests.servers import free_port

SECONDS, PHONES, SILENT, HALF_SENT, ASKED = 5.0, 16, 200, 25, 20
GIVEN_UP_S = 20
GUNICORN = ["-m", "gunicorn", "coachhub.wsgi", "--workers", "2", "--log-level", "error", "--bind", "127.0.0.1:{port}"]
GRANIAN = ["-m", "granian", "--interface", "wsgi", "--workers", "2", "--port", "{port}", "--log-level", "error"]
SERVERS = {
    "as coachhub runs": [*GUNICORN, "--config", "python:coachhub.web"],
    "gunicorn sync": [*GUNICORN, "--no-control-socket"],
    "gunicorn threads": [*GUNICORN, "--no-control-socket", "--threads", "8"],
    "granian": [*GRANIAN, "--blocking-threads", "4", "coachhub.wsgi:application"],
}


def main(*names: str) -> None:
    phone = furnished_phone()
    for name in names or SERVERS:
        if importlib.util.find_spec(SERVERS[name][1]) is None:
            print(f"{name:18} is not installed")
            continue
        port = free_port()
        command = [sys.executable, *(part.format(port=port) for part in SERVERS[name])]
        server = subprocess.Popen(command, start_new_session=True)
        try:
            print(f"{name:18} {tried(port, phone)}", flush=True)
        finally:
            os.killpg(server.pid, signal.SIGKILL)
            server.wait()


def tried(port: int, phone: tuple[str, str]) -> str:
    while healthy_ms(port) is None:
        time.sleep(0.2)
    alone = pages_per_second(port, phone)
    held = hanging(port, phone)
    time.sleep(0.3)
    asked = [healthy_ms(port) for _ in range(ASKED if healthy_ms(port) is not None else 0)]
    words = f"{alone:6.0f} pages/s; beside {len(held)} hanging connections "
    if not asked or None in asked:
        words += f"/healthy does not answer in {GIVEN_UP_S} s"
    else:
        beside = pages_per_second(port, phone)
        words += f"{beside:6.0f} pages/s, /healthy {statistics.median(asked):.1f} ms, at worst {max(asked):.1f} ms"
    for connection in held:
        connection.close()
    return words


def hanging(port: int, phone: tuple[str, str], silent: int = SILENT, half_sent: int = HALF_SENT) -> list[socket.socket]:
    """Connections that keep a server waiting."""
    headers = b"GET /healthy HTTP/1.1\r\nHost: localhost\r\nX-More: "
    home, cookie = phone
    body = f"POST {home}log/ HTTP/1.1\r\nHost: localhost\r\nCookie: {cookie}\r\nContent-Length: 60000\r\n".encode()
    body += b"Content-Type: application/x-www-form-urlencoded\r\n\r\nnote="
    sent = [b""] * silent + [headers] * half_sent + [body] * half_sent
    held = []
    for words in sent:
        connection = socket.create_connection(("127.0.0.1", port))
        connection.sendall(words)
        held.append(connection)
    return held


def healthy_ms(port: int) -> float | None:
    start = time.perf_counter()
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=GIVEN_UP_S)
    try:
        connection.request("GET", "/healthy")
        connection.getresponse().read()
    except (OSError, http.client.HTTPException):
        return None
    finally:
        connection.close()
    return (time.perf_counter() - start) * 1000


def pages_per_second(port: int, phone: tuple[str, str]) -> float:
    """Phones that load their page one time after the other, each on a connection of its own that it keeps."""
    (home, cookie), counts, end = phone, [0] * PHONES, time.monotonic() + SECONDS

    def load(number: int) -> None:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=GIVEN_UP_S)
        while time.monotonic() < end:
            connection.request("GET", home, headers={"Cookie": cookie})
            answer = connection.getresponse()
            answer.read()
            assert answer.status == 200, answer.status
            counts[number] += 1
        connection.close()

    threads = [threading.Thread(target=load, args=(number,)) for number in range(PHONES)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sum(counts) / SECONDS


if __name__ == "__main__":
    prepare_site()
    main(*sys.argv[1:])
