"""The web server: gunicorn minds the processes, waitress inside each of them reads the requests.

    gunicorn coachhub.wsgi --config python:coachhub.web --bind 127.0.0.1:8000

gunicorn's own workers read a request while they hold the place where Python runs, so that two connections that say
nothing stop the whole site. Here a request takes a thread only once its last byte has come, whoever sends too much is
refused before it is read, and whoever sends too slowly is let go. What has come of bodies lies in memory and in the
folder for temporary files, so all of them together have a limit too, and those from one address another.
tests/benchmarks/web_servers.py compares it.
"""

import json
import os
import resource
import shutil
import sys
import tempfile
import time
from collections import Counter
from copy import copy
from functools import lru_cache
from http.cookies import CookieError, SimpleCookie
from pathlib import Path

from django.conf import settings
from django.urls import reverse
from gunicorn.workers.base import Worker
from waitress import wasyncore
from waitress.adjustments import Adjustments
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.server import TcpWSGIServer
from waitress.task import ThreadedTaskDispatcher
from waitress.utilities import Error, RequestEntityTooLarge

from coachhub.limits import AS_BASE64, SIGNED_IN, STRANGER, UPLOADS, is_credential, is_session_key, too_large
from coachhub.proxies import came_from

THREADS = 4  # in each process: measured best of 1, 2, 4 and 8
MOST_HEADERS = 16_384  # bytes
MOST_CONNECTIONS = 4000  # in each process; an idle one costs about 6 kB
IDLE_S = 60
MOST_HELD = 40_000_000  # bytes of all bodies in a process that are not answered
MOST_OF_ONE = AS_BASE64 + SIGNED_IN  # … and of those from one address: a file, and something beside it
LOOKED_EVERY = 250_000  # bytes of a body
PATIENCE_S = 20  # for the first bytes, and for a line that stops, also when much has come before
LEAST_RATE = 4_000  # bytes a second otherwise
LINGER_S = 3  # for what somebody goes on sending after the answer, so that the answer arrives
CLEAN_S = 2
STUCK_S = 120  # a page that takes longer is given up, with the process that makes it

# gunicorn's own settings, which it reads from here.
worker_class = "coachhub.web.BufferedWorker"
workers = int(os.environ.get("WEB_WORKERS") or 2)
preload_app = True  # once, before it is divided: half the memory
timeout = 60
graceful_timeout = 20
control_socket_disable = True  # it would lie in the home folder
# No access log: the address of a personal link is its key and must not stand in a file.
accesslog = None
forwarded_allow_ips = ""  # coachhub.proxies decides whom to believe
_counts = ""  # the folder in which the processes count together, where it was made here
if "gunicorn" in Path(sys.argv[0]).parts[-2:] and "PROMETHEUS_MULTIPROC_DIR" not in os.environ:
    # before the application is loaded, which counts from then on
    _counts = os.environ["PROMETHEUS_MULTIPROC_DIR"] = tempfile.mkdtemp(prefix="coachhub-metrics-")


def on_exit(server) -> None:
    if _counts:
        shutil.rmtree(_counts, ignore_errors=True)


class Parser(HTTPRequestParser):
    """Knows from the headers alone how large the rest may be."""

    def parse_header(self, header_plus: bytes) -> None:
        super().parse_header(header_plus)
        most = body_limit(self.path, self.headers)
        self.adj = _with_body(self.adj, most + 1)
        if self.content_length > most:
            self.expect_continue = False  # do not ask for what will not be read

    def received(self, data: bytes) -> int:
        consumed = super().received(data)
        if isinstance(self.error, RequestEntityTooLarge):
            self.error = RequestEntityTooLarge(too_large(self.adj.max_request_body_size - 1))
        self.refuse(self.error)
        return consumed

    def refuse(self, error: Error | None) -> None:
        """Answer with this error, in the words of the API where it was asked."""
        of_api = getattr(self, "path", "").startswith(reverse("api:root"))
        self.error = ApiError(error) if error and of_api else error


class TooMuchAtOnce(Error):
    """For a body that was let go so that others come through."""

    code, reason = 503, "Service Unavailable"


class ApiError(Error):
    """A request to the API that is refused before it is read, as all its errors are: RFC 9457."""

    def __init__(self, error: Error) -> None:
        super().__init__(error.body)
        self.code, self.reason = error.code, error.reason

    def to_response(self, ident: str | None = None) -> tuple[str, list[tuple[str, str]], bytes]:
        from athletes.api.problems import MEDIA_TYPE, problem  # gunicorn reads this file before Django is up

        body = json.dumps(problem(self.code, self.body)).encode()
        return f"{self.code} {self.reason}", [("Content-Type", MEDIA_TYPE)], body


class Channel(HTTPChannel):
    """One connection. Whoever was refused half-way gets time to read why."""

    parser_class = Parser
    began_at = 0.0  # when the first byte of the request that is coming in was there
    due_at = 0.0  # when more of it has to be there
    served_since = 0.0  # when a thread took it up
    lingers_until = 0.0

    def received(self, data: bytes) -> bool:
        now = time.time()
        if self.request is None:
            self.began_at, self.due_at = now, now + PATIENCE_S
        before = self.came_in()
        taken = super().received(data)
        self.due_at = next_due(self.due_at, len(data), now)
        if self.came_in() // LOOKED_EVERY > before // LOOKED_EVERY:
            self.server.hold_less()
        return taken

    def came_in(self) -> int:
        """Bytes of a body whose end is not there."""
        return self.request.body_bytes_received if self.request else 0

    def held(self) -> int:
        """Bytes of all bodies from here that are not answered."""
        whole = [request for request in list(self.requests) if not request.error]
        return self.came_in() + sum(request.body_bytes_received for request in whole)

    def address(self) -> str:
        asked = self.request or next(iter(self.requests), None)
        said = asked.headers.get("X_FORWARDED_FOR", "") if asked else ""
        return came_from(str(self.addr[0]) if self.addr else "", said)

    def let_go(self) -> None:
        """Answer now what is still coming in."""
        with self.requests_lock:
            request, self.request = self.request, None
            request.close()  # what has come of it, at once
            request.refuse(TooMuchAtOnce("Too much is being sent at once. Try again in a minute."))
            request.completed = True
            self.requests.append(request)
            if len(self.requests) == 1:
                self.server.add_task(self)

    def service(self) -> None:
        self.served_since = time.time()
        try:
            super().service()
        finally:
            self.served_since = 0.0

    def readable(self) -> bool:
        return bool(self.lingers_until) or super().readable()

    def handle_read(self) -> None:
        if not self.lingers_until:
            super().handle_read()
        elif not self.recv(self.adj.recv_bytes):
            self.will_close = True

    def handle_write(self) -> None:
        if self.close_when_flushed and not self.total_outbufs_len and not self.lingers_until:
            # Closed at once, what is still on its way here would wipe the answer out on its way there.
            self.close_when_flushed = False
            self.lingers_until = time.time() + LINGER_S
            try:
                self.socket.shutdown(1)
            except OSError:
                self.will_close = True
        super().handle_write()

    def is_too_slow(self, now: float) -> bool:
        if self.lingers_until:
            return now > self.lingers_until
        if self.request is None or self.requests:
            return False
        return now > self.due_at


def next_due(due_at: float, came: int, now: float) -> float:
    """When more has to come after these bytes: having been fast gives no more time for the rest than patience does."""
    return min(due_at + came / LEAST_RATE, now + PATIENCE_S)


class Server(TcpWSGIServer):
    channel_class = Channel

    def readable(self) -> bool:
        if len(self._map) >= MOST_CONNECTIONS:
            self._make_room()
        return super().readable()

    def maintenance(self, now: float) -> None:
        super().maintenance(now)
        for channel in self.active_channels.values():
            if channel.is_too_slow(now):
                channel.will_close = True
        self.hold_less()

    def hold_less(self) -> None:
        """Let go of the bodies that have been coming for longest, where all together or those from an address are too
        large: who only fills what there is makes room for who sends a file.
        """
        holding = [channel for channel in list(self.active_channels.values()) if channel.held()]
        addresses = {channel: channel.address() for channel in holding}
        each = Counter()
        for channel in holding:
            each[addresses[channel]] += channel.held()
        for channel in sorted(holding, key=lambda channel: channel.began_at):
            address, size = addresses[channel], channel.came_in()
            if size and (each.total() > MOST_HELD or each[address] > MOST_OF_ONE):
                each[address] -= size
                channel.let_go()

    def stuck(self) -> bool:
        """Whether a page has been in the making for too long."""
        since = [channel.served_since for channel in list(self.active_channels.values()) if channel.served_since]
        return bool(since) and time.time() - min(since) > STUCK_S

    def busy(self) -> bool:
        return any(channel.requests or channel.total_outbufs_len for channel in self.active_channels.values())

    def _make_room(self) -> None:
        """Let go of a tenth of the connections, those that have been silent for longest."""
        silent = [channel for channel in self.active_channels.values() if not channel.requests]
        for channel in sorted(silent, key=lambda channel: channel.last_activity)[: MOST_CONNECTIONS // 10]:
            channel.handle_close()


class BufferedWorker(Worker):
    """A process of gunicorn's that serves with waitress."""

    def run(self) -> None:
        _as_many_files_as_allowed()
        sockets, dispatcher = {}, ThreadedTaskDispatcher()
        dispatcher.queue_logger.setLevel("ERROR")  # a queue is what a lunch hour looks like, and no news
        dispatcher.set_thread_count(THREADS)
        servers = [self._server(listener.sock, sockets, dispatcher) for listener in self.sockets]
        self._serve(sockets, servers)
        for server in servers:
            server.accepting = False
        end = time.monotonic() + self.cfg.graceful_timeout
        while time.monotonic() < end and any(server.busy() for server in servers):
            wasyncore.loop(timeout=0.1, use_poll=True, map=sockets, count=1)
        dispatcher.shutdown(timeout=1)
        wasyncore.close_all(sockets, ignore_all=True)

    def _serve(self, sockets: dict, servers: list[Server]) -> None:
        beat_at = 0.0
        while self.alive and self.ppid == os.getppid():
            if time.monotonic() > beat_at and not any(server.stuck() for server in servers):
                self.notify()  # gunicorn ends and replaces a worker that stops to do so
                beat_at = time.monotonic() + 1
            wasyncore.loop(timeout=1, use_poll=True, map=sockets, count=1)

    def _server(self, socket, sockets: dict, dispatcher: ThreadedTaskDispatcher) -> Server:
        socket.setblocking(False)
        adjustments = Adjustments(
            connection_limit=MOST_CONNECTIONS + 1,
            channel_timeout=IDLE_S,
            cleanup_interval=CLEAN_S,
            max_request_header_size=MOST_HEADERS,
            asyncore_use_poll=True,
            clear_untrusted_proxy_headers=False,  # coachhub.proxies decides whom to believe
            ident=None,
        )
        facts = (socket.family, socket.type, socket.proto, socket.getsockname())
        return Server(
            self.wsgi, sockets, True, socket, dispatcher=dispatcher, adj=adjustments, sockinfo=facts, bind_socket=False
        )


def body_limit(path: str, headers: dict[str, str]) -> int:
    """How many bytes may follow: what a stranger may send, or more for those who say who they are.

    Whether it is true is asked before anything is kept; see coachhub.limits.
    """
    if not _says_who(headers):
        return STRANGER
    return next((most for name, most in UPLOADS.items() if path == reverse(name)), SIGNED_IN)


def _says_who(headers: dict[str, str]) -> bool:
    if is_credential(headers.get("AUTHORIZATION", "")):  # one that is another's, as a proxy's own, says nothing here
        return True
    try:
        said = SimpleCookie(headers.get("COOKIE", "")).get(settings.SESSION_COOKIE_NAME)
    except CookieError:
        return False
    return said is not None and is_session_key(said.value)


@lru_cache(maxsize=16)
def _with_body(adjustments: Adjustments, most: int) -> Adjustments:
    limited = copy(adjustments)
    limited.max_request_body_size = most
    return limited


def _as_many_files_as_allowed() -> None:
    """A connection is an open file, of which a shell often allows only 1,024."""
    _, most = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (most, most))
