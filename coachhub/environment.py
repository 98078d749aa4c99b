"""The project's own environment, made with the standard library alone.

`python3 manage.py start` and `python3 manage.py test` must work on a machine that has Python 3.11 and nothing else,
so this module may import nothing that has to be installed.
"""

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
RUNTIME = ROOT / "requirements.txt"
TESTING = ROOT / "tests" / "requirements.txt"
# `manage.py start` runs on SQLite and folders alone, so it and its demo are left out on PostgreSQL and Redis.
ONLY_SQLITE = ["tests/coachhub/test_start.py", "tests/coachhub/test_demo.py", "tests/benchmarks/test_they_run.py"]
# What a second run shows again on SQLite: what reads and writes in ways that databases differ in.
ON_SQLITE = [
    *("tests/services/test_worker.py", "tests/services/test_import_worker.py", "tests/services/test_races.py"),
    *("tests/services/test_floor_races.py", "tests/services/test_clock_races.py", "tests/publishing"),
    *("tests/coachhub/test_archive.py", "tests/coachhub/test_broker.py"),
    *("tests/test_once.py", "tests/efforts/test_efforts.py", "tests/logs/test_logs.py", "tests/exporting"),
    "tests/records/test_erase.py",
]
EVERY_CORE = ["-n", "auto", "--dist", "loadgroup", "--durations=10"]  # each process on a database of its own
DEBIAN_TEST_PACKAGES = {
    "chromium-headless-shell": lambda: shutil.which("chromium-headless-shell"),
    "postgresql": lambda: any(Path("/usr/lib/postgresql").glob("*/bin/initdb")),
    "redis-server": lambda: shutil.which("redis-server"),
}


def ensure(arguments: list[str]) -> None:
    """Continue inside an environment that can run the command in `arguments`; make or refresh it for start and test."""
    if sys.version_info < (3, 11):  # noqa: UP036  # this very check is for people with an older Python
        sys.exit("coachhub needs Python 3.11 or newer. Install it, then run the command again with that python3.")
    if os.environ.get("COACHHUB_SYSTEM_PYTHON"):  # an image that installed requirements.txt itself
        return
    command = arguments[0] if arguments else ""
    if command in ("start", "test"):
        _install(TESTING if command == "test" else RUNTIME)
    if _inside_venv():
        return
    if _python().exists():
        os.execv(_python(), [str(_python()), *sys.argv])
    if importlib.util.find_spec("django") is None:
        sys.exit("Nothing is installed yet. Run `python3 manage.py start` first: it installs what coachhub needs.")


def run_tests(arguments: list[str]) -> int:
    """Install what only the tests need from the system, then run pytest; its exit code.

    Without arguments everything runs on PostgreSQL and Redis first, then on SQLite what `start` needs and what
    databases differ in. With arguments they go to one run of pytest, on SQLite.
    """
    _install_debian_packages()
    if arguments:
        return _pytest(arguments)
    elsewhere = [f"--ignore={path}" for path in ONLY_SQLITE]
    first = _pytest([*EVERY_CORE, *elsewhere], COACHHUB_TEST_SERVICES="1")
    return _pytest([*EVERY_CORE, *ONLY_SQLITE, *ON_SQLITE]) or first


def _pytest(arguments: list[str], **variables: str) -> int:
    # Without compiled files on disk each of the many processes that tests start would compile everything anew.
    left_out = ("DJANGO_SETTINGS_MODULE", "PYTHONDONTWRITEBYTECODE")
    environment = {name: value for name, value in os.environ.items() if name not in left_out}
    command = [sys.executable, "-m", "pytest", *arguments]
    return subprocess.call(command, cwd=ROOT, env={**environment, **variables})


def _python() -> Path:
    return VENV / "bin" / "python"


def _inside_venv() -> bool:
    return Path(sys.prefix).resolve() == VENV.resolve()


def _install(requirements: Path) -> None:
    stamp = VENV / f"installed-{requirements.parent.name if requirements == TESTING else 'runtime'}"
    wanted = hashlib.sha256(RUNTIME.read_bytes() + requirements.read_bytes()).hexdigest()
    if stamp.exists() and stamp.read_text() == wanted:
        return
    if not _python().exists():
        print("Making the environment in .venv …", flush=True)
        made = subprocess.run([sys.executable, "-m", "venv", "--clear", str(VENV)], check=False)
        if made.returncode:
            sys.exit("Python could not make an environment. On Debian: apt-get install python3-venv, then try again.")
    print(f"Installing {requirements.relative_to(ROOT)} (about a minute the first time) …", flush=True)
    pip = [str(_python()), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-r", str(requirements)]
    if subprocess.call(pip):
        sys.exit("Installing failed: see pip's message above. Mend it (usually the network), then run this again.")
    stamp.write_text(wanted)


def _install_debian_packages() -> None:
    missing = [name for name, present in DEBIAN_TEST_PACKAGES.items() if not present()]
    if not missing:
        return
    names = " ".join(missing)
    if not shutil.which("apt-get") or os.geteuid() != 0:
        print(f"Not installed: {names}. On Debian, as root: apt-get install {names}", flush=True)
        return
    print(f"Installing {names} for the tests …", flush=True)
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    install = ["apt-get", "install", "-y", "-qq", "--no-install-recommends", *missing]
    subprocess.call(["apt-get", "update", "-qq"], env=quiet, stdout=subprocess.DEVNULL)
    subprocess.call(install, env=quiet, stdout=subprocess.DEVNULL)
