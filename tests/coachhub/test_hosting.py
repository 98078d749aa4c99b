"""Hosting: who is believed, secrets out of files, compose file and units, doctor, logs, numbers, back-ups."""

import json
import logging
import os
import re
import shutil
import subprocess
import sys
from datetime import timedelta
from io import StringIO
from pathlib import Path

import psycopg
import pytest
import yaml
from django.conf import settings as project
from django.core.exceptions import ImproperlyConfigured
from django.core.management import CommandError, call_command
from django.db import connection, connections
from django.http import HttpResponse
from django.test import Client
from django.utils import timezone
from prometheus_client.parser import text_string_to_metric_families

from athletes.models import Account
from coachhub import backups
from coachhub.archive import CannotArchive
from coachhub.checks import keeps_any_text
from coachhub.doctor import findings
from coachhub.prepare import prepare_database
from coachhub.proxies import ProxyMiddleware
from coachhub.settings import env_secret, proxies
from coachhub.units import folders, units
from tests import gym
from tests.servers import free_port

ROOT = project.BASE_DIR
HTTPS = {"SITE_URL": "https://gym.example", "SECRET_KEY": "0123456789abcdef" * 4}


# --- Whom to believe ---


@pytest.mark.parametrize(("said", "https", "named"), [
    ("", False, []),
    ("", True, ["127.0.0.0/8", "::1/128"]),
    ("false", True, []),
    ("TRUE", False, ["127.0.0.0/8", "::1/128"]),
    ("172.31.77.2, 10.0.0.0/24", True, ["172.31.77.2/32", "10.0.0.0/24"]),
])  # fmt: skip
def test_the_proxy_is_on_this_machine_unless_it_is_named(said, https, named):
    assert proxies(said, https) == named


def test_a_proxy_that_is_no_address_is_refused_in_words():
    with pytest.raises(ImproperlyConfigured, match="addresses of proxies"):
        proxies("the proxy", True)


BELIEVED = [("172.31.77.2", True), ("::ffff:172.31.77.2", True), ("172.31.77.3", False), ("", False)]


@pytest.mark.parametrize(("address", "believed"), BELIEVED)
def test_forwarded_addresses_are_believed_from_the_named_proxy_alone(rf, settings, address, believed):
    settings.PROXIES = ["172.31.77.2/32"]
    request = rf.get("/", REMOTE_ADDR=address, HTTP_X_FORWARDED_FOR="203.0.113.9", HTTP_X_FORWARDED_PROTO="https")
    ProxyMiddleware(lambda request: HttpResponse())(request)
    assert ("HTTP_X_FORWARDED_FOR" in request.META) is believed
    assert ("HTTP_X_FORWARDED_PROTO" in request.META) is believed


def test_a_secret_comes_out_of_a_file(monkeypatch, tmp_path):
    (tmp_path / "key").write_text("of the file\n")
    monkeypatch.setenv("SOME_KEY_FILE", str(tmp_path / "key"))
    assert env_secret("SOME_KEY") == "of the file"
    monkeypatch.setenv("SOME_KEY_FILE", str(tmp_path / "none"))
    with pytest.raises(ImproperlyConfigured, match="cannot be read"):
        env_secret("SOME_KEY")


# --- For the internet ---


def manage(folder: Path, *arguments: str, **variables: str) -> subprocess.CompletedProcess:
    environment = {
        k: v
        for k, v in os.environ.items()
        if k not in ("DATABASE_URL", "REDIS_URL", "DJANGO_SETTINGS_MODULE", "DJANGO_ALLOW_ASYNC_UNSAFE")
    }
    environment |= {"DATA_DIR": str(folder), "COACHHUB_SYSTEM_PYTHON": "1", **variables}
    command = [sys.executable, "manage.py", *arguments]
    return subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True)


def test_check_deploy_finds_nothing(tmp_path):
    done = manage(tmp_path, "check", "--deploy", "--fail-level", "WARNING", **HTTPS)
    assert done.returncode == 0, done.stderr
    assert "no issues" in done.stdout + done.stderr


def test_over_https_cookies_are_secure_and_browsers_are_told_to_stay_there(tmp_path):
    code = "from django.conf import settings as s; print(s.SESSION_COOKIE_SECURE, s.CSRF_COOKIE_SECURE, "
    code += "s.SECURE_HSTS_SECONDS, s.SECURE_SSL_REDIRECT, s.PROXIES)"
    done = manage(tmp_path, "shell", "--no-imports", "-c", code, **HTTPS)
    assert done.stdout.strip() == f"True True {365 * 24 * 3600} True ['127.0.0.0/8', '::1/128']", done.stderr


# --- The compose file, the image and the units ---


@pytest.fixture(scope="module")
def compose() -> dict:
    return yaml.safe_load((ROOT / "docker-compose.yml").read_text())


def test_only_the_proxy_can_be_reached_from_outside(compose):
    services = compose["services"]
    open_ports = {name: service["ports"] for name, service in services.items() if "ports" in service}
    assert set(open_ports) == {"proxy", "web"}
    assert all(port.startswith("127.0.0.1:") for port in open_ports["web"])
    assert compose["networks"]["back"]["internal"] is True
    assert set(services["db"]["networks"]) == set(services["redis"]["networks"]) == {"back"}
    believed = services["web"]["environment"]["BEHIND_PROXY"]
    assert services["proxy"]["networks"]["front"]["ipv4_address"] == believed


def test_every_service_is_hardened_watched_and_limited(compose):
    for name, service in compose["services"].items():
        assert service["read_only"] is True, name
        assert service["cap_drop"] == ["ALL"], name
        assert service["security_opt"] == ["no-new-privileges:true"], name
        assert {"mem_limit", "pids_limit"} <= set(service), name
        assert "healthcheck" in service or name == "proxy", name


def test_no_secret_stands_in_the_compose_file(compose):
    for name, service in compose["services"].items():
        said = {k: v for k, v in service.get("environment", {}).items() if "KEY" in k or "PASSWORD" in k}
        for key, value in said.items():
            assert key.endswith("_FILE") or value is None, (name, key, value)
    assert set(compose["secrets"]) == {"secret_key", "database_password"}


def test_the_compose_file_hands_on_every_setting_of_the_readme(compose):
    lines = (ROOT / "README.md").read_text().splitlines()
    rows = [" ".join(line.split("|")[1:3]) for line in lines if line.startswith("| `")]  # what it is without is no name
    named = {name for row in rows for name in re.findall(r"`([A-Z_]{5,})`", row)}
    assert {"SITE_URL", "BACKUP_DIR", "AWS_ENDPOINT_URL"} <= named
    handed_on = {name.removesuffix("_FILE") for name in compose["services"]["web"]["environment"]}
    assert named - handed_on == {"DATA_DIR", "DEBUG"}  # set by the image; for developers' machines alone
    assert compose["services"]["web"]["environment"] == compose["services"]["worker"]["environment"]


def test_the_image_starts_empty_and_as_nobody():
    text = (ROOT / "Dockerfile").read_text()
    assert '"--empty"' in text.splitlines()[-1]
    assert "\nUSER coachhub\n" in text


def test_the_units_run_what_the_compose_file_runs(compose, tmp_path):
    call_command("units", str(tmp_path), "--user", "gym", stdout=StringIO())
    web, worker = ((tmp_path / f"coachhub-{name}.service").read_text() for name in ("web", "worker"))
    assert "User=gym" in web
    assert "gunicorn coachhub.wsgi --config python:coachhub.web" in web
    assert "gunicorn coachhub.wsgi --config python:coachhub.web" in compose["services"]["web"]["command"]
    assert "celery -A coachhub.celery worker -B" in worker
    if shutil.which("systemd-analyze"):
        found = subprocess.run(
            ["systemd-analyze", "verify", *map(str, tmp_path.glob("*.service"))], capture_output=True
        )
        assert b"Unknown" not in found.stderr
    assert set(units(user="a", port=1, environment=Path("/e"))) == {"coachhub-web.service", "coachhub-worker.service"}


def test_the_units_may_write_where_their_settings_say(tmp_path):
    settings_file = tmp_path / "coachhub.env"
    settings_file.write_text("# ours\nSITE_URL=https://gym.example\nDATA_DIR=/srv/gym\nBACKUP_DIR='/mnt/copies'\n")
    said = StringIO()
    call_command("units", str(tmp_path), "--environment", str(settings_file), stdout=said)
    worker = (tmp_path / "coachhub-worker.service").read_text()
    assert "Environment=DATA_DIR=/srv/gym " in worker
    assert "ReadWritePaths=/srv/gym -/mnt/copies\n" in worker
    assert "chown -R coachhub: /srv/gym /mnt/copies" in said.getvalue()
    settings_file.write_text("DATA_DIR=/srv/gym\n")
    assert folders(settings_file) == (Path("/srv/gym"), Path("/srv/gym/backups"))


# --- The doctor ---


def wrong() -> str:
    return "\n".join(words for well, words in findings() if not well)


def test_the_doctor_says_what_an_operator_got_wrong(db, settings, make_account):
    settings.ALLOWED_HOSTS, settings.DEMO_OPEN, settings.SITE_URL = ["*"], True, "http://gym.lan"
    owner = make_account("owner")
    owner.set_password(settings.DEMO_PASSWORD)
    owner.save()
    found = wrong()
    for words in (
        "SITE_URL is not https",
        "ALLOWED_HOSTS lets in any name",
        "DEMO_OPEN is true",
        "The demo's password stands for owner",
        "A password alone opens owner",
        "No second step is asked for",
        "No back-ups are made",
    ):
        assert words in found
    Account.objects.all().delete()
    assert "There is no owner" in wrong()


@pytest.fixture
def asked(settings, monkeypatch):
    """The doctor with a worker that answers, unless it does not."""
    answers = [{"celery@here": {"ok": "pong"}}]
    monkeypatch.setattr("coachhub.doctor.celery.control.ping", lambda timeout: answers)
    return answers


def test_the_doctor_asks_for_the_pulse_of_a_worker(db, asked):
    assert "No worker answers" not in wrong()
    asked.clear()
    assert "No worker answers within 3 s: start one, or first end the one that is stuck" in wrong()


@pytest.mark.parametrize(("address", "words"), [
    ("gym.example", "SITE_URL is gym.example: write the whole address that people type, with https:// in front"),
    ("gym.example:8000", "SITE_URL is gym.example:8000: write the whole address"),
    ("https://", "SITE_URL is https://: write the whole address"),
    ("https://gym.example/coach", "SITE_URL is https://gym.example/coach: links need a name of its own, like https://gym"),
])  # fmt: skip
def test_the_doctor_says_what_is_wrong_with_the_address(db, asked, settings, address, words):
    settings.SITE_URL = address
    assert words in wrong()


@pytest.mark.parametrize(("said", "well"), [("abc", False), ("0", False), ("-1", False), ("4", True), ("", True)])
def test_the_doctor_looks_at_the_number_of_web_processes(db, asked, monkeypatch, said, well):
    monkeypatch.setenv("WEB_WORKERS", said)
    assert (f"WEB_WORKERS is {said}: it has to be a whole number" in wrong()) is not well


def test_the_doctor_says_when_published_pages_are_out_of_reach(db, asked, settings, monkeypatch):
    settings.BOARDS_URL = "s3://boards/of-a-gym"
    for name in ("AWS_ACCESS_KEY_ID", "AWS_SECRET_ACCESS_KEY"):
        monkeypatch.setenv(name, "x")
    monkeypatch.setenv("AWS_MAX_ATTEMPTS", "1")
    monkeypatch.setenv("AWS_DEFAULT_REGION", "eu-west-1")
    monkeypatch.setenv("AWS_ENDPOINT_URL", f"http://127.0.0.1:{free_port()}")
    assert "BOARDS_URL, s3://boards/of-a-gym, cannot be reached: Could not connect" in wrong()


def test_the_doctor_says_what_is_wrong_with_the_key_of_back_ups(db, asked, settings):
    public, secret = backups.new_key()
    mistyped = public[:-1] + ("q" if public[-1] != "q" else "p")
    for key, words in {
        secret: "BACKUP_KEY is the secret half",
        "hello": "it begins with age1",
        public[:-5]: "is not 62 small letters",
        mistyped: "a letter that was mistyped",
    }.items():
        settings.BACKUP_KEY = key
        [found] = [line for line in wrong().splitlines() if "No back-ups are made: BACKUP_KEY" in line]
        assert words in found
    settings.BACKUP_KEY = public
    assert "BACKUP_KEY" not in wrong()


def test_a_database_that_takes_no_accents_is_refused_before_anything_is_in_it(db):
    if connection.vendor != "postgresql":
        pytest.skip("SQLite keeps any text.")
    facts = connection.get_connection_params()
    name = f"{connection.settings_dict['NAME']}_ascii"
    with psycopg.connect(**{n: facts[n] for n in ("user", "host", "port")}, dbname="postgres", autocommit=True) as made:
        made.execute(f"CREATE DATABASE {name} ENCODING 'SQL_ASCII' TEMPLATE template0 LC_COLLATE 'C' LC_CTYPE 'C'")
        connections["ascii"] = ascii_only = connection.copy("ascii")
        ascii_only.settings_dict = {**connection.settings_dict, "NAME": name}
        try:
            [error] = keeps_any_text(["default", "ascii"])
        finally:
            ascii_only.close()
            del connections["ascii"]
            made.execute(f"DROP DATABASE {name}")
    assert error.msg == "The database keeps text as SQL_ASCII, not as UTF8."


def test_the_command_fails_when_something_is_to_be_mended(db, settings):
    out = StringIO()
    with pytest.raises(CommandError, match="to look at"):
        call_command("doctor", stdout=out)
    assert "  ok   The database" in out.getvalue()


# --- Logs and numbers ---


def test_a_line_of_the_log_is_json_without_the_key_of_a_link(tmp_path):
    code = "import logging; logging.getLogger('a').error('Gone: %s', '/a/-Aw5BQhuZlduD6d1v9dgbjev99DE/week/')"
    done = manage(tmp_path, "shell", "--no-imports", "-c", code, LOG_FORMAT="json")
    line = json.loads(done.stderr.strip().splitlines()[-1])
    assert line["message"] == "Gone: /a/…/week/"
    assert (line["level"], line["from"]) == ("ERROR", "a")


def test_the_numbers_are_in_the_format_of_prometheus_and_name_nobody(live_week, client):
    client.get("/login/")
    text = client.get("/metrics").content.decode()
    found = {family.name: family for family in text_string_to_metric_families(text)}
    assert found["coachhub_athletes"].samples[0].value == 5
    assert [(s.labels["state"], s.value) for s in found["coachhub_publications"].samples] == [("live", 1)]
    assert any(s.labels.get("page") == "login" for s in found["coachhub_request_seconds"].samples)
    assert "Athlete 0" not in text


def test_the_numbers_are_for_this_machine_or_a_token(gym_row, client, settings):
    settings.METRICS_TOKEN = "long and random"
    assert client.get("/metrics", REMOTE_ADDR="192.0.2.1").status_code == 403
    assert client.get("/metrics", REMOTE_ADDR="192.0.2.1", headers={"Authorization": "Bearer no"}).status_code == 403
    token = {"Authorization": "Bearer long and random"}
    assert client.get("/metrics", REMOTE_ADDR="192.0.2.1", headers=token).status_code == 200
    settings.METRICS_TOKEN = ""
    assert client.get("/metrics", REMOTE_ADDR="192.0.2.1", headers={"Authorization": "Bearer "}).status_code == 403
    assert logging.getLogger("django.request") is not None


# --- Back-ups ---


@pytest.fixture
def keys(settings, tmp_path) -> str:
    settings.DATA_DIR, settings.BACKUP_DIR = tmp_path, str(tmp_path / "backups")
    settings.BACKUP_KEY, private = backups.new_key()
    (tmp_path / "key").write_text(private)
    return str(tmp_path / "key")


def test_a_sealed_back_up_comes_back_with_its_key_and_with_no_other(live_week, keys, tmp_path, settings):
    path = backups.make()
    assert path.read_bytes().startswith(b"age-encryption.org/v1")
    assert b"Athlete 000" not in path.read_bytes()
    assert path.stat().st_mode & 0o077 == 0
    out = StringIO()
    call_command("restore", str(path), "--key", keys, "--check", stdout=out)
    assert "5 athletes" in out.getvalue()
    (tmp_path / "other").write_text(backups.new_key()[1])
    with pytest.raises(CommandError, match="does not open with this key"):
        call_command("restore", str(path), "--key", str(tmp_path / "other"), "--check")
    path.write_bytes(path.read_bytes()[:-20])
    with pytest.raises(CommandError, match="is damaged"):
        call_command("restore", str(path), "--key", keys, "--check")
    assert [entry.name for entry in tmp_path.glob(".backup-*")] == []


def test_what_a_back_up_left_in_plain_text_that_was_cut_off_goes_with_the_next_and_at_the_start(db, keys, tmp_path):
    for clear in (backups.make, prepare_database):
        left, at_it = tmp_path / ".backup-left", tmp_path / ".backup-at-it"
        for inside in (left, at_it):
            inside.mkdir(exist_ok=True)
            (inside / "gym.zip").write_text("Athlete 0001")
        with backups._held(at_it):
            clear()
        assert not left.exists()
        assert (at_it / "gym.zip").exists()


def test_old_back_ups_go_but_the_first_of_each_month_stays(db, keys):
    folder = backups.folder()
    folder.mkdir()
    (folder / ".draft-half").touch()
    now = timezone.now()
    for days in range(1, 400):
        (folder / f"gym-{now - timedelta(days=days):%Y-%m-%d-034000}.zip.age").touch()
    backups.make()
    left = backups.kept()
    recent = [b for b in left if b.made_at > now - timedelta(days=backups.DAYS)]
    assert len(recent) in (backups.DAYS, backups.DAYS + 1)
    assert backups.MONTHS - 1 <= len(left) - len(recent) <= backups.MONTHS
    assert not (folder / ".draft-half").exists()


def test_without_a_key_nothing_is_kept_in_the_open(db, settings, tmp_path):
    settings.BACKUP_KEY, settings.BACKUP_DIR = "secret", str(tmp_path / "backups")
    with pytest.raises(CannotArchive, match="backup_key"):
        backups.make()
    assert not (tmp_path / "backups").exists()


def test_forms_and_pages_carry_the_headers_of_a_careful_site(gym_row):
    headers = Client().get("/login/").headers
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["X-Frame-Options"] == "DENY"
    assert "frame-ancestors 'none'" in headers["Content-Security-Policy"]
    assert headers["Cross-Origin-Opener-Policy"] == "same-origin"
    assert gym.DOCUMENT
