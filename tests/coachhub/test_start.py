"""`manage.py start`: what it refuses, how it keeps its children running, and a real one from first line to last."""

import os
import signal
import socket
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import pytest
from django.conf import settings as project
from django.core.management import CommandError, call_command

from athletes.models import Account
from coachhub import guard
from coachhub.alive import answers
from coachhub.children import Child
from coachhub.prepare import prepare_static_files
from coachhub.serve import CannotStart, only_one, refuse_taken_port, usual_address
from tests.servers import free_port

LONG = [sys.executable, "-c", "import time; time.sleep(600)"]
# Starts a process of its own, as a worker starts its clock, then waits.
WITH_OFFSPRING = [sys.executable, "-c", "import subprocess, time; subprocess.Popen(['sleep', '600']); time.sleep(600)"]


def wait_until(true, seconds: float = 20.0) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.05)


@pytest.fixture
def data_folder(settings, tmp_path) -> Path:
    settings.DATA_DIR = tmp_path
    return tmp_path


@pytest.fixture
def child(data_folder):
    child = Child("long", LONG)
    yield child
    child.ask_to_stop()
    child.end()


def test_a_taken_port_is_refused_with_another_one_to_try():
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(CannotStart, match=f"--port {port + 1}"):
            refuse_taken_port("127.0.0.1", port)
    refuse_taken_port("127.0.0.1", free_port())


def test_ports_and_addresses_that_do_not_exist_are_refused_in_words():
    with pytest.raises(CannotStart, match="1 to 65535"):
        refuse_taken_port("127.0.0.1", 70_000)
    with pytest.raises(CannotStart, match="192.0.2.1"):  # an address for documentation: nobody's
        refuse_taken_port("192.0.2.1", free_port())


def test_a_data_folder_is_held_by_one_start_at_a_time(data_folder):
    second = only_one("http://127.0.0.1:8001")
    with only_one("http://127.0.0.1:8000"), pytest.raises(CannotStart, match="already runs .*http://127.0.0.1:8000"):
        second.__enter__()
    with only_one("http://127.0.0.1:8002"):
        pass


def test_a_folder_in_which_nothing_can_be_written_is_named(settings, tmp_path):
    settings.DATA_DIR = tmp_path / "gone"
    with pytest.raises(CannotStart, match=f"cannot write in {settings.DATA_DIR} .*set DATA_DIR"):
        only_one("http://127.0.0.1:8000").__enter__()


def test_a_child_that_dies_is_started_again(child):
    child.start()
    assert child.death() == ""
    child.process.kill()
    child.process.wait()
    assert "stopped by itself (code -9)" in child.death()
    wait_until(lambda: child.due)
    child.start()
    assert child.running


def test_a_child_that_keeps_dying_is_started_less_and_less_often(child):
    child.command = [sys.executable, "-c", ""]
    delays = []
    for _ in range(8):
        child.start()
        child.process.wait()
        child.death()
        delays.append(round(child.due_at - time.monotonic()))
    assert delays == [1, 2, 4, 8, 16, 30, 30, 30]


def test_a_child_that_ran_for_long_is_started_again_at_once(child):
    child.start()
    child.started_at -= 3600
    child.process.kill()
    child.process.wait()
    child.death()
    assert child.due


def test_what_a_dead_child_had_started_goes_with_it(child):
    child.command = WITH_OFFSPRING
    child.start()
    group = child.process.pid
    wait_until(lambda: len(_members(group)) == 2)
    child.process.kill()
    child.process.wait()
    child.death()
    wait_until(lambda: not _members(group))


def test_the_guard_stops_what_was_left_when_its_input_ends(child):
    child.start()
    guarding = subprocess.Popen([sys.executable, guard.__file__], stdin=subprocess.PIPE, text=True)
    print(f"1234567\n{child.process.pid}", file=guarding.stdin)
    guarding.stdin.close()
    wait_until(lambda: not child.running)
    assert guarding.wait(timeout=30) == 0


def test_the_guard_lets_go_of_what_was_stopped_in_order(child):
    child.start()
    guarding = subprocess.Popen([sys.executable, guard.__file__], stdin=subprocess.PIPE, text=True)
    guarding.communicate(f"{child.process.pid}\n\n", timeout=30)
    assert child.running


def test_static_files_are_collected_once_until_one_changes(settings, tmp_path):
    settings.STATIC_ROOT = tmp_path / "static"
    (source := tmp_path / "source").mkdir()
    (source / "a.css").write_text("a {}")
    settings.STATICFILES_DIRS = [source]
    settings.STATICFILES_FINDERS = ["django.contrib.staticfiles.finders.FileSystemFinder"]
    assert prepare_static_files()
    assert not prepare_static_files()
    (source / "a.css").write_text("a { color: red }")
    assert prepare_static_files()


@pytest.mark.parametrize(("host", "address"), [
    ("127.0.0.1", "http://localhost:8001"),
    ("0.0.0.0", "http://localhost:8001"),
    ("192.0.2.7", "http://192.0.2.7:8001"),
    ("::", "http://localhost:8001"),
])  # fmt: skip
def test_the_address_people_type_where_nobody_said_one(host, address):
    assert usual_address(host, 8001) == address


def test_owner_makes_an_account_whose_password_is_chosen_through_a_link(db, capsys):
    call_command("owner", "mia")
    address = capsys.readouterr().out.splitlines()[1]
    assert address.startswith(f"{project.SITE_URL}/invitation/")
    account = Account.objects.get(username="mia")
    assert account.role == Account.Role.OWNER
    assert not account.has_usable_password()
    with pytest.raises(CommandError, match="mia --again"):
        call_command("owner", "mia")
    with pytest.raises(CommandError, match="no owner bo"):
        call_command("owner", "bo", "--again")
    with pytest.raises(CommandError, match="valid username"):
        call_command("owner", "two words")
    call_command("owner", "mia", "--again")
    assert capsys.readouterr().out.splitlines()[1] != address


class Started:
    """A `start` as a person would run it, on an empty data folder of its own."""

    def __init__(self, data: Path) -> None:
        self.data, self.port = data, free_port()
        environment = {**os.environ, "DATA_DIR": str(data), "COACHHUB_SYSTEM_PYTHON": "1"}
        for name in ("DJANGO_SETTINGS_MODULE", "DATABASE_URL", "REDIS_URL"):
            environment.pop(name, None)
        command = [sys.executable, "manage.py", "start", "--empty", "--port", str(self.port)]
        self.process = subprocess.Popen(
            command, cwd=project.BASE_DIR, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )

    def until(self, words: str) -> str:
        """What it says, up to the line with these words."""
        said = ""
        for line in self.process.stdout:
            said += line
            if words in line:
                return said
        raise AssertionError(f"It never said {words!r}:\n{said}")

    def answers(self) -> bool:
        return answers(f"http://127.0.0.1:{self.port}")

    def processes(self) -> list[int]:
        """Ids of all that runs on its data folder, itself included."""
        return [pid for pid in _pids() if f"DATA_DIR={self.data}\0".encode() in _read(pid, "environ")]


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    """One data folder for both tests below: the second start finds what the first one left."""
    return tmp_path_factory.mktemp("data")


@pytest.fixture
def started(folder):
    started = Started(folder)
    yield started
    for pid in started.processes():
        with suppress(ProcessLookupError):
            os.kill(pid, signal.SIGKILL)
    started.process.wait()
    started.process.stdout.close()


def test_a_real_start_serves_heals_and_stops(started):
    assert "manage.py owner" in started.until("Logs:")
    assert started.answers()
    worker = next(pid for pid in started.processes() if b"celery" in _read(pid, "cmdline"))
    os.kill(worker, signal.SIGKILL)
    assert "worker process stopped by itself" in started.until("stopped by itself")
    wait_until(lambda: any(b"celery" in _read(pid, "cmdline") for pid in started.processes()))
    started.process.send_signal(signal.SIGTERM)
    assert started.process.wait(timeout=40) == 0
    assert started.processes() == []


def test_nothing_outlives_a_start_that_is_killed(started):
    started.until("Logs:")
    started.process.kill()
    started.process.wait()
    wait_until(lambda: started.processes() == [], seconds=40)
    assert not started.answers()


def _pids() -> list[int]:
    return [int(entry.name) for entry in Path("/proc").iterdir() if entry.name.isdecimal()]


def _members(group: int) -> list[int]:
    """Ids of the living processes of a process group."""
    fields = {pid: _read(pid, "stat").rpartition(b")")[2].split() for pid in _pids()}
    return [pid for pid, own in fields.items() if own and own[0] != b"Z" and int(own[2]) == group]


def _read(pid: int, name: str) -> bytes:
    try:
        return Path(f"/proc/{pid}/{name}").read_bytes()
    except OSError:  # it has ended since
        return b""
