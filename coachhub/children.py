"""Programs under supervision: started, started again when they die, and ended with all that they started."""

import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

STOP_S = 20.0  # within which a child has to finish what it is doing
STEADY_S = 60.0  # a child that ran this long starts again without delay when it dies
LONGEST_DELAY_S = 30.0
LOG_LIMIT = 5_000_000  # bytes; a longer log is put aside at the next start


@dataclass
class Child:
    """A program in a session of its own: Ctrl-C reaches only its parent, and its process group is all it started."""

    name: str
    command: list[str]
    process: subprocess.Popen | None = None
    started_at: float = 0.0
    quick_deaths: int = 0
    due_at: float = 0.0

    @property
    def log(self) -> Path:
        return settings.DATA_DIR / "log" / f"{self.name}.log"

    @property
    def running(self) -> bool:
        return self.process is not None and self.process.poll() is None

    def start(self) -> None:
        self.log.parent.mkdir(exist_ok=True)
        if self.log.exists() and self.log.stat().st_size > LOG_LIMIT:
            self.log.replace(self.log.with_suffix(".log.1"))
        # The same project and data folder for the child, wherever this was called from.
        paths = [str(settings.BASE_DIR), *filter(None, [os.environ.get("PYTHONPATH")])]
        environment = {**os.environ, "PYTHONPATH": os.pathsep.join(paths), "DATA_DIR": str(settings.DATA_DIR)}
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                self.command, stdin=subprocess.DEVNULL, stdout=log, stderr=log, env=environment, start_new_session=True
            )
        self.started_at = time.monotonic()

    def death(self) -> str:
        """What to say when the process has died since the last look; sets when it is due again."""
        if self.process is None or self.running:
            return ""
        code, lived = self.process.returncode, time.monotonic() - self.started_at
        self._sweep()
        self.process = None
        self.quick_deaths = 0 if lived > STEADY_S else self.quick_deaths + 1
        delay = min(2.0 ** (self.quick_deaths - 1), LONGEST_DELAY_S) if self.quick_deaths else 0.0
        self.due_at = time.monotonic() + delay
        return f"The {self.name} process stopped by itself (code {code}) and starts again. Its log: {self.log}"

    @property
    def due(self) -> bool:
        return self.process is None and time.monotonic() >= self.due_at

    def ask_to_stop(self) -> None:
        if self.running:
            self.process.terminate()

    def end(self) -> None:
        """Wait for the orderly end that was asked for; then nothing of it is left."""
        if self.process is None:
            return
        with suppress(subprocess.TimeoutExpired):
            self.process.wait(timeout=STOP_S)
        self._sweep()

    def _sweep(self) -> None:
        # A worker that is killed leaves its clock process behind, a web server its request handlers.
        with suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


class Guard:
    """A small process that stops the children should this one be killed before it can."""

    def __init__(self) -> None:
        command = [sys.executable, str(Path(__file__).with_name("guard.py"))]
        self.process = subprocess.Popen(command, stdin=subprocess.PIPE, text=True, start_new_session=True)

    def watch(self, children: list[Child]) -> None:
        groups = " ".join(str(child.process.pid) for child in children if child.process)
        with suppress(BrokenPipeError):  # somebody killed the guard; everything else goes on
            print(groups, file=self.process.stdin, flush=True)

    def dismiss(self) -> None:
        self.watch([])
        with suppress(BrokenPipeError):
            self.process.stdin.close()
        self.process.wait()
