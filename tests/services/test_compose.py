"""The command lines of the compose file and its environment, run without Docker on real servers."""

import os
import re
import shlex
import subprocess
import sys
import time
import urllib.request
from contextlib import ExitStack

import pytest
import yaml
from django.conf import settings

from coachhub.alive import answers
from tests import servers

pytestmark = pytest.mark.services


def run(command: str, environment: dict) -> subprocess.Popen:
    words = command.replace("$$", "$").replace("python ", f"{sys.executable} ")
    return subprocess.Popen(shlex.split(words), cwd=settings.BASE_DIR, env=environment, start_new_session=True)


def test_web_and_worker_start_answer_and_stop_in_order(tmp_path):
    services = yaml.safe_load((settings.BASE_DIR / "docker-compose.yml").read_text())["services"]
    for name in ("secret_key", "database_password"):
        (tmp_path / name).write_text("0123456789abcdef" * 4)
    said = {k: re.sub(r"\$\{\w+(:[-?][^}]*)?\}", "", v) for k, v in services["web"]["environment"].items() if v}
    said |= {
        name: value.replace("/run/secrets", str(tmp_path)) for name, value in said.items() if name.endswith("_FILE")
    }
    (tmp_path / "metrics").mkdir()
    said["PROMETHEUS_MULTIPROC_DIR"] = str(tmp_path / "metrics")
    with ExitStack() as running:
        said["DATABASE_URL"] = running.enter_context(servers.postgresql())
        said["REDIS_URL"] = running.enter_context(servers.redis())
        port = servers.free_port()
        (tmp_path / "data").mkdir()
        outside = {k: v for k, v in os.environ.items() if k in ("PATH", "HOME", "LANG")}
        environment = {**outside, **said, "SITE_URL": "https://gym.example", "DATA_DIR": str(tmp_path / "data")}
        environment |= {"COACHHUB_SYSTEM_PYTHON": "1", "WEB_WORKERS": "2"}
        web = run(services["web"]["command"].replace("0.0.0.0:8000", f"127.0.0.1:{port}"), environment)
        running.callback(web.kill)
        wait_for(lambda: answers(f"http://127.0.0.1:{port}"), web)
        assert lands_at(port, {"Host": "gym.example"}) == "https://gym.example/login/"  # plain http is sent away
        forged = {"Host": "gym.example", "X-Forwarded-Proto": "https"}  # believed from the proxy's address alone
        assert lands_at(port, forged) == "https://gym.example/login/"
        worker = run(services["worker"]["command"], environment)
        running.callback(worker.kill)
        ping = services["worker"]["healthcheck"]["test"][1].replace("$$", "$").replace("-t 8", "-t 3")
        inside = {**environment, "PATH": f"{os.path.dirname(sys.executable)}:{environment['PATH']}"}
        shell = {"cwd": settings.BASE_DIR, "env": inside, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
        wait_for(lambda: subprocess.call(["sh", "-c", ping], **shell) == 0, worker)
        for process in (web, worker):
            process.terminate()
            assert process.wait(timeout=40) == 0


class NoRedirect(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *args):
        return None


def lands_at(port: int, headers: dict) -> str | None:
    try:
        urllib.request.build_opener(NoRedirect).open(
            urllib.request.Request(f"http://127.0.0.1:{port}/login/", headers=headers), timeout=20
        )
    except urllib.error.HTTPError as answer:
        return answer.headers["Location"]
    return None


def wait_for(true, process: subprocess.Popen, seconds: float = 60) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert process.poll() is None, "it ended by itself"
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.2)
