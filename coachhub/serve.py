"""Runs the web server and the worker, and keeps them running until it is told to stop."""

import fcntl
import os
import signal
import socket
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from errno import EADDRINUSE

from django.conf import settings

from coachhub.alive import answers
from coachhub.children import Child, Guard

READY_S = 60.0  # within which the web server has to answer
POLL_S = 0.2
LAST_WORDS = 12  # lines of a log, shown when a start fails
EVERYWHERE = {"0.0.0.0": "127.0.0.1", "::": "::1"}  # to listen at, and to call


class CannotStart(Exception):
    """Why not, and what to do, in words for whoever typed the command."""


def serve(host: str, port: int, *, ready: Callable[[], None], say: Callable[[str], None]) -> None:
    """Run until SIGINT or SIGTERM; `ready` is called once the web server answers, `say` with news of the children."""
    stop = threading.Event()
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, lambda *_: stop.set())
    children, guard = [web(host, port), worker()], Guard()
    try:
        for child in children:
            child.start()
        guard.watch(children)
        if _wait_for(children[0], host, port, stop):
            ready()
        while not stop.wait(POLL_S):
            _tend(children, guard, say)
        say("Stopping; the worker finishes what it is doing …")
    finally:
        for child in children:
            child.ask_to_stop()
        for child in children:
            child.end()
        guard.dismiss()


def web(host: str, port: int) -> Child:
    bind = ["--config", "python:coachhub.web", "--bind", f"{_bracketed(host)}:{port}"]
    return Child("web", [sys.executable, "-m", "gunicorn", "coachhub.wsgi", *bind])


def worker() -> Child:
    quiet = ["--without-gossip", "--without-mingle"]
    return Child("worker", [sys.executable, "-m", "celery", "-A", "coachhub.celery", "worker", "-B", *quiet])


@contextmanager
def only_one(address: str) -> Iterator[None]:
    """Hold the data folder; CannotStart when another `start` holds it, or nothing can be written there."""
    try:
        lock = (settings.DATA_DIR / "start.lock").open("a+")
    except OSError as error:
        raise CannotStart(
            f"coachhub cannot write in {settings.DATA_DIR} ({error.strerror}). Make it writable for this user, or set "
            "DATA_DIR to a folder that is."
        ) from None
    with lock as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            file.seek(0)
            raise CannotStart(
                f"coachhub already runs on {settings.DATA_DIR} ({file.read()}). Stop that one with Ctrl-C first, or "
                "set DATA_DIR to another folder for a second one."
            ) from None
        file.truncate(0)
        file.write(f"{address}, process {os.getpid()}")
        file.flush()
        yield


def refuse_taken_port(host: str, port: int) -> None:
    """CannotStart when nothing could listen there."""
    with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OverflowError:
            text = f"There is no port {port}: they run from 1 to 65535. Choose another one: --port 8000"
        except PermissionError:
            text = f"Port {port} is kept for the system's own programs. Choose another one: --port 8000"
        except OSError as error:
            if error.errno == EADDRINUSE:
                text = f"Port {port} is taken by another program. Choose another one: --port {port + 1}"
            else:
                text = f"This machine cannot listen at {host}: {error.strerror}. Leave --host out to listen to itself."
        else:
            return
    raise CannotStart(text)


def local_address(host: str, port: int) -> str:
    return f"http://{_bracketed(EVERYWHERE.get(host, host))}:{port}"


def usual_address(host: str, port: int) -> str:
    """What people type where nobody said otherwise: this machine's own name when it listens everywhere."""
    here = host in EVERYWHERE or host in EVERYWHERE.values()
    return f"http://{'localhost' if here else _bracketed(host)}:{port}"


def _bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host else host


def _wait_for(server: Child, host: str, port: int, stop: threading.Event) -> bool:
    """Until the web server answers; False when it is to stop before that. CannotStart when it does not come up."""
    end = time.monotonic() + READY_S
    while not stop.wait(POLL_S):
        if answers(local_address(host, port)):
            return True
        if not server.running or time.monotonic() > end:
            lines = server.log.read_text(errors="replace").splitlines()[-LAST_WORDS:]
            raise CannotStart("\n".join(["The web server does not come up. The end of its log:", "", *lines]))
    return False


def _tend(children: list[Child], guard: Guard, say: Callable[[str], None]) -> None:
    for child in children:
        if words := child.death():
            say(words)
        if child.due:
            child.start()
            guard.watch(children)
