"""The whole gym into a file and back: the same rows, the same estimates, the same targets; or a clear sentence."""

import json
import os
import subprocess
import sys
import zipfile
from hashlib import sha256
from pathlib import Path

import numpy as np
import pytest
from django.apps import apps
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection
from rest_framework.authtoken.models import Token

from athletes.efforts.write import effort_record
from athletes.estimates.gym_priors import gym_priors_refresh
from athletes.estimates.write import estimates_refresh
from athletes.gym.read import today
from athletes.links.write import link_issue
from athletes.models import Account, Athlete, Effort, Estimate, Gym, Limitation, Link
from coachhub import archive, restoring
from coachhub.archive import CannotArchive, archived_models, write_archive
from coachhub.restoring import restore_archive, verified
from sessions.boards import files
from sessions.models import PersonalPage, Target
from tests import gym
from tests.conftest import PASSWORD, client_of, publish


@pytest.fixture
def lived_in(furnished, coach, staff):
    """A gym with estimates, a published week, a corrected effort, a limitation, a link and a token."""
    athletes = gym.people(8)
    publish(gym.planned_week(), coach)
    link_issue(athlete=athletes[0], by=coach)
    Limitation.objects.create(athlete=athletes[1], kind="skill", starts_on=today()).movements.set(
        gym.Movement.objects.filter(slug="row")
    )
    row = gym.Benchmark.objects.get(slug="2000-m-row")
    facts = {"athlete": athletes[0], "benchmark": row, "performed_on": today(), "by": staff, "confirmed": True}
    wrong = effort_record(typed="7:07", **facts)
    effort_record(typed="7:17.3", replaces=wrong, **facts)
    gym_priors_refresh()
    Token.objects.create(user=coach)
    publish(gym.planned_week(gym.this_monday() + 2 * gym.timedelta(days=7)), coach)


@pytest.fixture
def kept(lived_in, tmp_path) -> Path:
    write_archive(tmp_path / "gym.zip")
    return tmp_path / "gym.zip"


@pytest.fixture
def empty(settings, tmp_path):
    """Empty this installation, as another one would be that the archive is brought to."""

    def to() -> None:
        settings.MEDIA_ROOT = tmp_path / "elsewhere"
        Token.objects.all().delete()
        with connection.constraint_checks_disabled(), connection.cursor() as cursor:
            for model in reversed(archived_models()):
                cursor.execute(f"DELETE FROM {connection.ops.quote_name(model._meta.db_table)}")

    return to


def everything() -> dict:
    return {model._meta.label: list(model._base_manager.order_by("pk").values()) for model in archived_models()}


def test_everything_comes_back_as_it_was(kept, empty):
    before = everything()
    pages = {path: files.read(path) for path in PersonalPage.objects.values_list("path", flat=True)}
    empty()
    assert not any(everything().values())
    restore_archive(kept)
    assert everything() == before
    assert {path: files.read(path) for path in PersonalPage.objects.values_list("path", flat=True)} == pages


def test_estimates_made_again_from_the_restored_efforts_are_the_same(kept, empty):
    estimates_refresh()
    names = ("athlete__key", "engine", "movement__slug", "mean", "covariance")
    before = {row[:3]: row[3:] for row in Estimate.objects.values_list(*names)}
    empty()
    restore_archive(kept)
    estimates_refresh()
    after = {row[:3]: row[3:] for row in Estimate.objects.values_list(*names)}
    assert after.keys() == before.keys()
    worst = max(
        float(np.max(np.abs(np.array(a) - np.array(b))))
        for k in before
        for a, b in zip(before[k], after[k], strict=True)
    )
    assert worst < 1e-12


def test_a_week_published_again_after_a_restore_asks_for_the_same(kept, empty, coach):
    rows = ("session__key", "athlete__key", "station", "rung", "dose", "load_kg", "hold", "probability")
    first = list(Target.objects.filter(publication__revision=1).order_by("pk").values_list(*rows))
    empty()
    restore_archive(kept)
    assert list(Target.objects.order_by("pk").values_list(*rows)) == first
    coach = Account.objects.get(username="coach")
    week = gym.Week.objects.order_by("starts_on").last()
    again = publish(week, coach)
    same = [row for row in first if row[0] == again.sessions.get().key]
    assert set(again.targets.values_list(*rows)) == set(same)


def test_new_rows_get_ids_above_the_restored_ones(kept, empty):
    last = Athlete.objects.order_by("pk").last().pk
    empty()
    restore_archive(kept)
    assert Athlete.objects.create(name="New", board_name="New").pk > last


def test_accounts_sign_in_as_before_and_tokens_are_not_in_it(kept, empty, client):
    token = Token.objects.get().key
    nonce = Link.objects.get().nonce
    with zipfile.ZipFile(kept) as opened:
        text = b"".join(opened.read(name) for name in opened.namelist()).decode(errors="replace")
    assert token not in text
    assert PASSWORD not in text
    assert nonce in text  # useless without the installation's secret key
    empty()
    restore_archive(kept)
    assert client.post("/login/", {"username": "coach", "password": PASSWORD}).status_code == 302
    assert not Token.objects.exists()


def test_an_installation_in_use_is_left_alone(kept):
    before = everything()
    with pytest.raises(CannotArchive, match="in use already.*only goes into an empty one"):
        restore_archive(kept)
    assert everything() == before


def changed(kept: Path, target: Path, **members: bytes | None) -> Path:
    """A copy of the archive with some members changed, or left out where None."""
    with zipfile.ZipFile(kept) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            content = members.get(name, old.read(name))
            if content is not None:
                new.writestr(name, content)
        for name in members.keys() - set(old.namelist()):
            new.writestr(name, members[name])
    return target


def manifest_of(kept: Path) -> dict:
    with zipfile.ZipFile(kept) as opened:
        return json.loads(opened.read("manifest.json"))


EFFORTS = "rows/athletes.effort.jsonl"


@pytest.mark.parametrize(
    ("members", "sentence"),
    [
        ({EFFORTS: b"{}\n"}, "athletes.effort.jsonl is not what it was"),
        ({EFFORTS: None}, "its list of contents does not fit"),
        ({"boards/../../x.html": b"x"}, "its list of contents does not fit"),
        ({"manifest.json": b"{}"}, "This is no archive of coachhub"),
        ({"manifest.json": None}, "This is no archive of coachhub"),
    ],
)
def test_a_damaged_archive_is_refused_as_a_whole(kept, empty, tmp_path, members, sentence):
    damaged = changed(kept, tmp_path / "damaged.zip", **members)
    empty()
    with pytest.raises(CannotArchive, match=sentence):
        restore_archive(damaged)
    assert not any(everything().values())
    assert not list((tmp_path / "elsewhere").glob("*/*"))


def test_an_archive_with_broken_bytes_is_refused_in_words(kept, empty, tmp_path):
    with zipfile.ZipFile(kept) as opened:
        place = opened.getinfo(EFFORTS).header_offset + 30 + len(EFFORTS)
    content = bytearray(kept.read_bytes())
    content[place : place + 40] = b"\xff" * 40
    (tmp_path / "broken.zip").write_bytes(content)
    empty()
    with pytest.raises(CannotArchive, match="The archive is damaged"):
        restore_archive(tmp_path / "broken.zip")
    assert not any(everything().values())


def test_a_member_that_does_not_belong_into_it_is_refused(kept, empty, tmp_path):
    manifest = manifest_of(kept)
    manifest["members"]["boards/../../x.html"] = {"count": 1, "sha256": "0"}
    extra = {"boards/../../x.html": b"x", "manifest.json": json.dumps(manifest).encode()}
    forged = changed(kept, tmp_path / "forged.zip", **extra)
    empty()
    with pytest.raises(CannotArchive, match="does not belong into it"):
        restore_archive(forged)


def test_which_tables_belong_into_an_archive_says_the_version_that_wrote_it(kept, empty, tmp_path):
    rows, manifest = "rows/athletes.dropped_since.jsonl", manifest_of(kept)
    manifest["members"][rows] = {"count": 1, "sha256": sha256(b"{}\n").hexdigest()}
    with_it = changed(kept, tmp_path / "with.zip", **{rows: b"{}\n", "manifest.json": json.dumps(manifest).encode()})
    with zipfile.ZipFile(with_it) as archive:
        assert rows in verified(archive)["members"]  # an earlier version may have had it
    empty()
    with pytest.raises(CannotArchive, match="dropped_since.jsonl does not belong into it"):
        restore_archive(with_it)  # this version has not
    assert not any(everything().values())


@pytest.mark.parametrize("news", [{"version": 2}, {"migrations": ["athletes.9999_from_later"]}])
def test_an_archive_of_a_newer_coachhub_is_refused(kept, empty, tmp_path, news):
    newer = changed(kept, tmp_path / "newer.zip", **{"manifest.json": json.dumps(manifest_of(kept) | news).encode()})
    empty()
    with pytest.raises(CannotArchive, match="made by a newer coachhub"):
        restore_archive(newer)


def test_fields_younger_than_the_archive_get_their_defaults(kept, empty, tmp_path):
    older = older_gym(kept, tmp_path, drop="heat_stop_c")
    empty()
    restore_archive(older)
    assert Gym.objects.get().heat_stop_c == 32.2


def test_what_does_not_fit_is_refused_in_words(kept, empty, tmp_path):
    odd = older_gym(kept, tmp_path, add="colour")
    empty()
    with pytest.raises(CannotArchive, match=r"athletes.Gym has no colour here"):
        restore_archive(odd)
    assert not any(everything().values())


def older_gym(kept: Path, tmp_path: Path, *, drop: str = "", add: str = "") -> Path:
    name = "rows/athletes.gym.jsonl"
    with zipfile.ZipFile(kept) as opened:
        row = json.loads(opened.read(name))
    row = {key: value for key, value in row.items() if key != drop} | ({add: 1} if add else {})
    line = json.dumps(row).encode() + b"\n"
    manifest = manifest_of(kept)
    manifest["members"][name]["sha256"] = archive.sha256(line).hexdigest()
    return changed(kept, tmp_path / "older.zip", **{name: line, "manifest.json": json.dumps(manifest).encode()})


def test_a_half_written_archive_never_stands_in_the_place_of_a_whole_one(kept, monkeypatch):
    whole = kept.read_bytes()
    monkeypatch.setattr(archive, "_boards", lambda: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        write_archive(kept)
    assert kept.read_bytes() == whole
    assert [path.name for path in kept.parent.glob("*gym.zip*")] == ["gym.zip"]


def test_boards_already_written_are_taken_back_when_a_restore_fails(kept, empty, tmp_path, monkeypatch):
    empty()
    real, calls = restoring._board, []

    def breaks(*args):
        calls.append(args)
        if len(calls) == 3:
            raise OSError("disk full")
        real(*args)

    monkeypatch.setattr(restoring, "_board", breaks)
    with pytest.raises(OSError, match="disk full"):
        restore_archive(kept)
    assert not list((tmp_path / "elsewhere").glob("*/*"))
    assert not Effort.objects.exists()


def test_the_commands_say_what_they_did_and_what_to_do(lived_in, empty, tmp_path, capsys):
    file = tmp_path / "gym.zip"
    call_command("backup", str(file))
    assert "8 athletes, 18 efforts" in capsys.readouterr().out
    (tmp_path / "notes.txt").write_text("mine")
    for name, sentence in (("notes.txt", "no archive of coachhub"), ("none/gym.zip", "There is no folder")):
        with pytest.raises(CommandError, match=sentence):
            call_command("backup", str(tmp_path / name))
    assert (tmp_path / "notes.txt").read_text() == "mine"
    empty()
    for name, sentence in (("notes.txt", "no complete zip file"), ("gone.zip", "cannot be read")):
        with pytest.raises(CommandError, match=sentence):
            call_command("restore", str(tmp_path / name))
    call_command("restore", str(file))
    assert "are back" in capsys.readouterr().out
    assert client_of(Account.objects.get(username="staff")).get("/athletes/").status_code == 200


def manage(folder: Path, *arguments: str) -> str:
    """A command of an installation of its own: SQLite in `folder`."""
    kept = {name: value for name, value in os.environ.items() if name not in ("DATABASE_URL", "TEST_BOARDS")}
    environment = {**kept, "DATA_DIR": str(folder), "DJANGO_SETTINGS_MODULE": "coachhub.settings"}
    command = [sys.executable, "manage.py", *arguments]
    done = subprocess.run(command, cwd=settings.BASE_DIR, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_it_goes_from_this_database_to_sqlite_and_back(kept, empty, tmp_path):
    before = everything()
    assert "are back" in manage(tmp_path / "other", "restore", str(kept))
    assert "are in" in manage(tmp_path / "other", "backup", str(tmp_path / "back.zip"))
    empty()
    restore_archive(tmp_path / "back.zip")
    assert everything() == before


def test_every_table_of_the_two_apps_is_in_it_or_left_out_on_purpose():
    tables = {
        m._meta.label for app in archive.APPS for m in apps.get_app_config(app).get_models(include_auto_created=True)
    }
    left_out = tables - {model._meta.label for model in archived_models()}
    assert left_out == archive.LEFT_OUT | {"athletes.Account_groups", "athletes.Account_user_permissions"}
