"""The owner's page of archives: asked for, made by the worker, kept a while, downloaded."""

import os
import time
import zipfile
from io import BytesIO

import pytest
from kombu.exceptions import OperationalError

from athletes import sending
from coachhub import archive_shelf, tasks


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    return tmp_path / "archives"


@pytest.fixture
def sent(monkeypatch) -> list:
    found = []
    monkeypatch.setattr(sending.current_app, "send_task", lambda *task: found.append(task))
    return found


def test_an_archive_is_asked_for_made_and_downloaded(owner_client, gym_row, sent):
    assert "None yet." in owner_client.get("/gym/archive/").content.decode()
    owner_client.post("/gym/archive/")
    assert "is being made" in owner_client.get("/gym/archive/").content.decode()
    assert "HX-Refresh" not in owner_client.get("/gym/archive/progress/").headers
    tasks.make_archive()
    assert owner_client.get("/gym/archive/progress/").headers["HX-Refresh"] == "true"
    [made] = archive_shelf.shelved()
    assert made.name in owner_client.get("/gym/archive/").content.decode()
    answer = owner_client.get(f"/gym/archive/{made.name}")
    data = BytesIO(b"".join(answer.streaming_content))
    assert "rows/athletes.gym.jsonl" in zipfile.ZipFile(data).namelist()


def test_pressing_twice_makes_one(owner_client, gym_row, sent):
    for _ in range(2):
        owner_client.post("/gym/archive/")
    assert len(sent) == 1
    for _ in range(2):  # the broker may hand a message out twice
        tasks.make_archive()
    assert len(archive_shelf.shelved()) == 1


def test_one_whose_worker_died_can_be_asked_for_again(owner_client, gym_row, sent, folder):
    owner_client.post("/gym/archive/")
    long_ago = time.time() - archive_shelf.GIVEN_UP_S - 1
    os.utime(folder / "asked", (long_ago, long_ago))
    assert "Make an archive" in owner_client.get("/gym/archive/").content.decode()
    owner_client.post("/gym/archive/")
    assert len(sent) == 2


def test_a_failure_leaves_nothing_behind_that_says_it_goes_on(gym_row, sent, monkeypatch, folder):
    archive_shelf.ask()
    monkeypatch.setattr(archive_shelf, "write_archive", lambda path: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        tasks.make_archive()
    assert not archive_shelf.being_made()
    assert list(folder.iterdir()) == []


def test_only_the_last_three_stay(gym_row, sent, folder):
    folder.mkdir()
    for day in range(1, 6):
        (folder / f"gym-2026-01-0{day}-120000.zip").write_bytes(b"old")
    archive_shelf.ask()
    tasks.make_archive()
    names = [archive.name for archive in archive_shelf.shelved()]
    assert len(names) == 3
    assert names[1:] == ["gym-2026-01-05-120000.zip", "gym-2026-01-04-120000.zip"]


def test_a_broker_that_is_away_is_told(owner_client, gym_row, monkeypatch):
    def away(*task):
        raise OperationalError

    monkeypatch.setattr(sending.current_app, "send_task", away)
    assert "cannot be reached" in owner_client.post("/gym/archive/", follow=True).content.decode()
    assert not archive_shelf.being_made()


@pytest.mark.parametrize("name", ["asked", "..%2Fsecret_key", "gym-2026-01-01-000000.zip", "secret_key"])
def test_nothing_else_is_handed_out(owner_client, gym_row, folder, name):
    folder.mkdir()
    (folder / "asked").touch()
    (folder.parent / "secret_key").write_text("hush")
    assert owner_client.get(f"/gym/archive/{name}").status_code == 404


def test_it_is_the_owners(coach_client, gym_row):
    for path in ("/gym/archive/", "/gym/archive/progress/", "/gym/archive/gym-2026-01-01-000000.zip"):
        assert coach_client.get(path).status_code == 403
    assert "/gym/archive/" not in coach_client.get("/gym/machines/").content.decode()
