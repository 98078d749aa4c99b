"""Faults from outside: the database away, the disk full or read-only. The page says so, and it passes by itself."""

import errno
from collections import namedtuple

import pytest
from django.db import OperationalError, connection
from django.test import Client
from django.urls import reverse

from athletes.api.problems import MEDIA_TYPE, problem
from coachhub import archive_shelf, faults, health

Usage = namedtuple("Usage", "total used free")


@pytest.fixture
def away(gym_row, monkeypatch):
    """A database that does not answer any more, and a way to bring it back."""

    def refuse(*args, **options):
        raise OperationalError("connection refused")

    monkeypatch.setattr(connection, "cursor", refuse)
    return lambda: monkeypatch.undo()


def test_without_a_database_every_page_says_so_and_comes_back_by_itself(away):
    client = Client(raise_request_exception=False)
    for path in (reverse("login"), reverse("home"), "/a/some-token/", reverse("api:athlete-list")):
        answer = client.get(path, headers={"Authorization": "Token abc"} if "api" in path else {})
        assert answer.status_code == 503, path
        assert "The database cannot be reached just now." in answer.content.decode()
        assert answer["Retry-After"] == "5"
    away()
    assert client.get(reverse("login")).status_code == 200


def test_whoever_is_signed_in_reads_the_same_and_programs_read_problem_details(staff_client, coach_api, away):
    staff_client.raise_request_exception = coach_api.raise_request_exception = False
    for path in (reverse("home"), reverse("account"), reverse("athletes:list")):
        answer = staff_client.get(path)
        assert answer.status_code == 503, path
        assert "The database cannot be reached just now." in answer.content.decode()
    for client in (staff_client, coach_api):
        answer = client.get(reverse("api:athlete-list"))
        assert (answer.status_code, answer["Content-Type"], answer["Retry-After"]) == (503, MEDIA_TYPE, "5")
        assert answer.json() == problem(503, faults.AWAY)
    away()
    assert staff_client.get(reverse("account")).status_code == 200


def test_healthy_tells_the_truth_without_a_database(away):
    client = Client()
    answer = client.get("/healthy")
    assert answer.status_code == 503
    assert answer.json()["database"].startswith("cannot be reached")
    away()
    assert client.get("/healthy").json() == {"database": "ok", "worker": "ok", "disk": "ok"}


def test_healthy_says_when_the_disk_is_almost_full(gym_row, client, monkeypatch):
    monkeypatch.setattr(health.shutil, "disk_usage", lambda path: Usage(10**9, 10**9 - 5_000_000, 5_000_000))
    answer = client.get("/healthy")
    assert (answer.status_code, answer.json()["disk"]) == (503, "almost full: 5 MB are left")


def test_healthy_says_when_there_is_no_room_for_what_comes_in(gym_row, client, monkeypatch):
    little = {health.tempfile.gettempdir(): Usage(10**9, 10**9, 5_000_000)}
    monkeypatch.setattr(health.shutil, "disk_usage", lambda path: little.get(path, Usage(10**9, 0, 10**9)))
    answer = client.get("/healthy")
    assert answer.status_code == 503
    assert answer.json()["disk"] == "the folder for temporary files is almost full: 5 MB are left"


def test_healthy_says_when_nothing_can_be_written(gym_row, client, monkeypatch):
    monkeypatch.setattr(health.os, "access", lambda path, mode: False)
    assert client.get("/healthy").json()["disk"] == "the data folder cannot be written to"


@pytest.mark.parametrize(("error", "words"), [
    (OSError(errno.ENOSPC, "No space left on device"), faults.DISK_FULL),
    (OperationalError("database or disk is full"), faults.DISK_FULL),  # SQLite
    (OperationalError("could not extend file: No space left on device"), faults.DISK_FULL),  # PostgreSQL
    (OperationalError("attempt to write a readonly database"), faults.NO_WRITING),
    (PermissionError(errno.EACCES, "Permission denied"), faults.NO_WRITING),
    (OperationalError("server closed the connection unexpectedly"), faults.AWAY),
    (ZeroDivisionError(), ""),
    (None, ""),
])  # fmt: skip
def test_what_is_said_of_a_fault(error, words):
    assert faults.reason(error) == words


def test_a_defect_of_our_own_stays_one(gym_row, staff_client, monkeypatch):
    def broken(*args):
        raise ZeroDivisionError

    monkeypatch.setattr("athletes.accounts.own_views.sign_ins_of", broken)
    staff_client.raise_request_exception = False
    assert staff_client.get(reverse("account")).status_code == 500


def test_a_defect_is_a_problem_to_programs_too(coach_api, monkeypatch):
    def broken(*args):
        raise ZeroDivisionError

    monkeypatch.setattr("rest_framework.generics.GenericAPIView.filter_queryset", broken)
    coach_api.raise_request_exception = False
    answer = coach_api.get(reverse("api:athlete-list"))
    assert (answer.status_code, answer.json()) == (500, problem(500, faults.DEFECT))


def test_a_full_disk_half_way_through_a_back_up_leaves_nothing(gym_row, settings, tmp_path, monkeypatch):
    settings.DATA_DIR = tmp_path
    (tmp_path / "archives").mkdir()
    (left := tmp_path / "archives" / ".gym-2026-01-01-000000.zip.x7").write_bytes(b"half")  # by a worker that died
    (tmp_path / "archives" / "asked").touch()

    def full(*args):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("coachhub.archive._lines", full)
    with pytest.raises(OSError, match="No space"):
        archive_shelf.make()
    assert list((tmp_path / "archives").iterdir()) == []
    assert not left.exists()
