"""The web server: it answers while others hang on it, and refuses too much before it has read it."""

import http.client
import json
import os
import select
import socket
import subprocess
import time
from types import SimpleNamespace

import pytest
from django.conf import settings as project
from waitress.adjustments import Adjustments

from coachhub.limits import AN_IMPORT, SIGNED_IN, STRANGER
from coachhub.serve import web
from coachhub.web import LEAST_RATE, PATIENCE_S, Channel, Parser, Server, body_limit, next_due
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


KEY = "a1" * 16


def test_how_much_may_come_depends_on_who_says_to_send_it():
    cookie = {"COOKIE": f"theme=dark; {project.SESSION_COOKIE_NAME}={KEY}"}
    assert body_limit("/athletes/import/", {}) == STRANGER
    assert body_limit("/athletes/import/", cookie) == AN_IMPORT
    assert body_limit("/circuits/new/", cookie) == SIGNED_IN
    assert body_limit("/athletes/import/", {**cookie, "AUTHORIZATION": "Basic YTpi"}) == AN_IMPORT  # a proxy's own
    assert body_limit("/api/v1/circuits/", {"AUTHORIZATION": f"Token {'a1' * 20}"}) == SIGNED_IN
    assert body_limit("/login/", {"COOKIE": "theme=dark"}) == STRANGER


@pytest.mark.parametrize("said", [
    {"COOKIE": f"{project.SESSION_COOKIE_NAME}=anything"},
    {"AUTHORIZATION": "Anything"},
    {"AUTHORIZATION": "Token abc"},
    {"AUTHORIZATION": "Bearer " + "a1" * 20},
])  # fmt: skip
def test_what_looks_like_nothing_of_ours_may_send_what_a_stranger_may(said):
    for path in ("/athletes/import/", "/api/v1/imports/", "/circuits/new/"):
        assert body_limit(path, said) == STRANGER


def test_a_limit_of_one_request_does_not_stay_for_the_next():
    adjustments = Adjustments()
    large, small = Parser(adjustments), Parser(adjustments)
    name = project.SESSION_COOKIE_NAME.encode()
    large.received(b"POST / HTTP/1.1\r\nCookie: " + name + b"=" + KEY.encode() + b"\r\nContent-Length: 900000\r\n\r\n")
    small.received(b"POST / HTTP/1.1\r\nContent-Length: 900000\r\n\r\n")
    assert (large.error, small.error.code) == (None, 413)


MB = 1_000_000
TOO_MUCH = b"Too much is being sent at once"


@pytest.mark.parametrize(("came", "slow"), [
    ([(PATIENCE_S - 1, 1)], False),
    ([(PATIENCE_S + 1, 0)], True),
    ([(second, LEAST_RATE) for second in range(1, 90)], False),  # an upload over a poor line
    ([(second, LEAST_RATE // 2) for second in range(1, 90)], True),
    ([(1, 19 * MB), (PATIENCE_S, 1)], False),
    ([(1, 19 * MB), (PATIENCE_S + 2, 0)], True),  # fast, and then nothing …
    ([(1, 19 * MB), (10, 1), (20, 1), (30, 1)], True),  # … or as good as nothing
])  # fmt: skip
def test_who_sends_too_slowly_is_let_go_also_at_the_end(came, slow):
    channel = SimpleNamespace(lingers_until=0.0, request=object(), requests=[], due_at=float(PATIENCE_S))
    late = []
    for second, size in came:
        late.append(Channel.is_too_slow(channel, second))
        channel.due_at = next_due(channel.due_at, size, second)
    assert any(late) is slow


class Held:
    """A connection with a body whose end has not come."""

    def __init__(self, size: int, since: float, address: str) -> None:
        self.size, self.began_at, self.said, self.gone = size, since, address, False

    def held(self) -> int:
        return 0 if self.gone else self.size

    came_in = held

    def address(self) -> str:
        return self.said

    def let_go(self) -> None:
        self.gone = True


def let_go_of(*channels: Held) -> list[bool]:
    Server.hold_less(SimpleNamespace(active_channels=dict(enumerate(channels))))
    return [channel.gone for channel in channels]


def test_bodies_that_have_been_coming_for_longest_make_room():
    many = [Held(15 * MB, since, f"192.0.2.{since}") for since in range(4)]
    assert let_go_of(*many) == [True, True, False, False]
    assert let_go_of(Held(0, 0.0, "192.0.2.1"), *many) == [False, True, True, False, False]


def test_one_address_makes_room_for_itself_and_for_nobody_else():
    others = Held(1 * MB, 0.0, "192.0.2.9")
    assert let_go_of(others, *(Held(15 * MB, since, "192.0.2.1") for since in (1.0, 2.0))) == [False, True, False]


def test_what_was_let_go_counts_no_more_before_it_is_answered():
    whole, gone = (SimpleNamespace(body_bytes_received=MB, error=error) for error in (None, "too much"))
    channel = SimpleNamespace(came_in=lambda: 1, requests=[whole, gone])
    assert Channel.held(channel) == MB + 1


def test_a_file_comes_through_beside_many_that_never_end(port):
    """Each of the two processes holds what one address may have at once, whoever says to be signed in."""
    head = f"POST /athletes/import/ HTTP/1.1\r\nHost: localhost\r\nCookie: {project.SESSION_COOKIE_NAME}={KEY}\r\n"
    held = [socket.create_connection(("127.0.0.1", port)) for _ in range(6)]
    for connection in held:
        connection.sendall(f"{head}Content-Length: {19 * MB}\r\n\r\n".encode() + b"x" * 15 * MB)
    with socket.create_connection(("127.0.0.1", port)) as connection:
        connection.sendall(f"{head}Connection: close\r\nContent-Length: {18 * MB}\r\n\r\n".encode() + b"x" * 18 * MB)
        answer = everything(connection)
    assert answer.startswith(b"HTTP/1.1")
    assert TOO_MUCH not in answer
    answered = [connection for connection in held if select.select([connection], [], [], 0.2)[0]]
    assert len(answered) >= 4
    assert all(TOO_MUCH in everything(connection) for connection in answered)
    for connection in held:
        connection.close()
