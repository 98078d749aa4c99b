"""The web server: it answers while others hang on it, and refuses too much before it has read it."""

import http.client
import json
import os
import socket
import subprocess
import time
from types import SimpleNamespace

import pytest
from django.conf import settings as project
from waitress.adjustments import Adjustments

from coachhub.limits import AN_IMPORT, SIGNED_IN, STRANGER
from coachhub.serve import web
from coachhub.web import FIRST_BYTES_S, LEAST_RATE, Channel, Parser, body_limit
from tests.benchmarks.web_servers import hanging, healthy_ms
from tests.servers import free_port

ANSWERS_WITHIN_MS = 2000  # generous: how fast it is stands in tests/benchmarks/web_servers.py; frozen would be 20 s


@pytest.fixture(scope="module")
def port(tmp_path_factory):
    """A web server as `start` runs it, on a database without tables: /healthy answers all the same, if only 503."""
    port = free_port()
    environment = {**os.environ, "DATA_DIR": str(tmp_path_factory.mktemp("data")), "DEBUG": "true"}
    for name in ("DJANGO_SETTINGS_MODULE", "DATABASE_URL"):
        environment.pop(name, None)
    server = subprocess.Popen(web("127.0.0.1", port).command, cwd=project.BASE_DIR, env=environment)
    end = time.monotonic() + 30
    while healthy_ms(port) is None:
        assert time.monotonic() < end, "the server did not come up"
        time.sleep(0.1)
    yield port
    server.terminate()
    assert server.wait(timeout=30) == 0


def everything(connection: socket.socket) -> bytes:
    """What comes until the server has no more to say."""
    connection.settimeout(5)
    answer = b""
    while piece := connection.recv(4096):
        answer += piece
    return answer


def test_it_answers_beside_200_silent_and_50_half_sent_connections(port):
    held = hanging(port, ("/a/token/", ""))
    assert max(healthy_ms(port) or 1e9 for _ in range(10)) < ANSWERS_WITHIN_MS
    for connection in held:
        connection.close()


def test_a_stranger_who_announces_too_much_is_refused_before_sending_it(port):
    with socket.create_connection(("127.0.0.1", port)) as connection:
        connection.sendall(b"POST /login/ HTTP/1.1\r\nHost: localhost\r\nContent-Length: 64001\r\n\r\n")
        answer = everything(connection)
    assert answer.startswith(b"HTTP/1.1 413")
    assert b"more than this page takes (64 kB)" in answer


def test_the_api_is_refused_in_problem_details_before_it_is_read(port):
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    connection.request("POST", "/api/v1/efforts/", body=b"x" * (STRANGER + 1))
    answer = connection.getresponse()
    assert (answer.status, answer.headers["Content-Type"]) == (413, "application/problem+json")
    problem = json.load(answer)
    assert (problem["type"], problem["title"], problem["status"]) == ("about:blank", "Request Entity Too Large", 413)
    assert "more than this page takes (64 kB)" in problem["detail"]


def test_who_goes_on_sending_can_still_read_the_answer(port):
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    connection.request("POST", "/login/", body=b"x" * 5_000_000)
    assert connection.getresponse().status == 413


def test_more_and_more_in_pieces_ends_at_the_same_limit(port):
    with socket.create_connection(("127.0.0.1", port)) as connection:
        connection.sendall(b"POST /login/ HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\n")
        for _ in range(5):
            connection.sendall(b"4000\r\n" + b"x" * 0x4000 + b"\r\n")
        assert everything(connection).startswith(b"HTTP/1.1 413")


def test_endless_headers_are_refused(port):
    with socket.create_connection(("127.0.0.1", port)) as connection:
        connection.sendall(b"GET / HTTP/1.1\r\nX-Long: " + b"x" * 20_000)
        assert b" 431 " in everything(connection).splitlines()[0]


def test_how_much_may_come_depends_on_who_says_to_send_it():
    cookie = {"COOKIE": f"theme=dark; {project.SESSION_COOKIE_NAME}=abc"}
    assert body_limit("/athletes/import/", {}) == STRANGER
    assert body_limit("/athletes/import/", cookie) == AN_IMPORT
    assert body_limit("/circuits/new/", cookie) == SIGNED_IN
    assert body_limit("/api/v1/circuits/", {"AUTHORIZATION": "Token abc"}) == SIGNED_IN
    assert body_limit("/login/", {"COOKIE": "theme=dark"}) == STRANGER


def test_a_limit_of_one_request_does_not_stay_for_the_next():
    adjustments = Adjustments()
    large, small = Parser(adjustments), Parser(adjustments)
    name = project.SESSION_COOKIE_NAME.encode()
    large.received(b"POST / HTTP/1.1\r\nCookie: " + name + b"=a\r\nContent-Length: 900000\r\n\r\n")
    small.received(b"POST / HTTP/1.1\r\nContent-Length: 900000\r\n\r\n")
    assert (large.error, small.error.code) == (None, 413)


@pytest.mark.parametrize(("waited_s", "received", "slow"), [
    (FIRST_BYTES_S - 1, 0, False),
    (FIRST_BYTES_S + 1, 0, True),
    (FIRST_BYTES_S + 60, 100 * LEAST_RATE, False),  # an upload over a poor line
    (FIRST_BYTES_S + 101, 100 * LEAST_RATE, True),
])  # fmt: skip
def test_who_sends_too_slowly_is_let_go(waited_s, received, slow):
    request = SimpleNamespace(body_bytes_received=received)
    channel = SimpleNamespace(lingers_until=0.0, request=request, requests=[], began_at=1000.0)
    assert Channel.is_too_slow(channel, 1000.0 + waited_s) is slow
