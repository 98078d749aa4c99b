"""An athlete erased on request: gone from every table, every page and every board."""

import os
import sqlite3
import time
from datetime import timedelta
from pathlib import Path
from uuid import uuid4

import pytest
from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import connection
from pypdf import PdfReader

from athletes.gym.read import today
from athletes.importing.run import run
from athletes.importing.write import import_begin, import_check
from athletes.links.write import link_issue
from athletes.models import Athlete, Effort, Import, ImportRemark, Limitation, Link
from athletes.people.merge import athletes_merge
from sessions.boards import files
from sessions.models import PersonalPage, Publication, Target
from sessions.records.erase import athlete_erase
from sessions.tasks import boards_sweep
from tests import gym
from tests.conftest import publish

pytestmark = pytest.mark.paper


@pytest.fixture
def zelda(furnished, coach) -> Athlete:
    """Someone in a week that is over, in this one, and in a revision of it that was replaced."""
    athletes = gym.people(4)
    Athlete.objects.filter(pk=athletes[1].pk).update(name="Zelda Quirk", board_name="Zelda")
    zelda = Athlete.objects.get(name="Zelda Quirk")
    link_issue(athlete=zelda, by=coach)
    Limitation.objects.create(athlete=zelda, kind="body", patterns=["pull"], starts_on=today(), note="Knee.")
    publish(gym.planned_week(gym.this_monday() - timedelta(days=14)), coach)
    week = gym.planned_week(gym.this_monday())
    publish(week, coach)
    publish(week, coach)
    return zelda


def texts_on_disk(folder: Path) -> str:
    """Everything that stands in the files of the boards folder."""
    found = []
    for path in folder.glob("*/*"):
        if path.suffix == ".pdf":
            found += [page.extract_text() for page in PdfReader(path).pages]
        else:
            found.append(path.read_text())
    return "\n".join(found)


def rows_of(athlete_id: int) -> dict[str, int]:
    counts = {}
    for model in apps.get_models():
        for field in model._meta.fields:
            if field.related_model is Athlete:
                counts[model._meta.label] = model._base_manager.filter(**{field.attname: athlete_id}).count()
    return counts


def test_nothing_of_an_erased_athlete_is_left(zelda, settings, django_capture_on_commit_callbacks):
    assert "Zelda" in texts_on_disk(settings.MEDIA_ROOT)
    pages = list(PersonalPage.objects.filter(athlete=zelda).values_list("path", flat=True))
    before, pk = rows_of(zelda.pk), zelda.pk
    assert before["training.Target"] == 9
    with django_capture_on_commit_callbacks(execute=True):
        athlete_erase(athlete=zelda)
    assert not any(rows_of(pk).values())
    assert "Zelda" not in texts_on_disk(settings.MEDIA_ROOT)
    shared = set(PersonalPage.objects.values_list("path", flat=True))
    assert not [path for path in pages if path not in shared and (settings.MEDIA_ROOT / path).exists()]


def test_everyone_else_keeps_everything(zelda, settings, django_capture_on_commit_callbacks):
    others = Athlete.objects.exclude(pk=zelda.pk)
    before = [
        list(model.objects.filter(athlete__in=others).order_by("pk").values())
        for model in (Effort, Target, PersonalPage)
    ]
    with django_capture_on_commit_callbacks(execute=True):
        athlete_erase(athlete=zelda)
    assert [list(model.objects.order_by("pk").values()) for model in (Effort, Target, PersonalPage)] == before
    assert all(files.read(path) for path in PersonalPage.objects.values_list("path", flat=True))


def test_boards_of_this_week_are_made_anew_and_older_ones_taken_down(
    zelda, owner_client, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        athlete_erase(athlete=zelda)
    live = Publication.objects.get(state="live", week__starts_on=gym.this_monday())
    page = owner_client.get(f"/board/{live.sessions.get().pk}/").content.decode()
    assert "A0002" in page
    assert "Zelda" not in page
    assert owner_client.get(f"/publications/{live.pk}/a3.pdf").status_code == 200
    for gone in Publication.objects.exclude(pk=live.pk):
        assert "Zelda" not in owner_client.get(f"/board/{gone.sessions.get().pk}/").content.decode()
        assert owner_client.get(f"/publications/{gone.pk}/").status_code == 200


def test_a_file_that_another_athlete_shares_stays(zelda, settings, django_capture_on_commit_callbacks):
    own = PersonalPage.objects.filter(athlete=zelda).last()
    PersonalPage.objects.filter(publication=own.publication).exclude(pk=own.pk).update(path=own.path)
    with django_capture_on_commit_callbacks(execute=True):
        athlete_erase(athlete=zelda)
    assert files.read(own.path)


def test_nothing_is_erased_while_a_week_is_being_published(zelda):
    Publication.objects.filter(revision=2).update(state="rendering")
    with pytest.raises(ValidationError, match="being published right now"):
        athlete_erase(athlete=zelda)
    assert Athlete.objects.filter(pk=zelda.pk).exists()


def test_imports_say_nothing_of_them_either(zelda, coach):
    content = b"Athlete;2k row;Date\nZelda Quirk;soon;2025-11-03\nAthlete 0002;soon;2025-11-03\n"
    source = import_begin(key=uuid4(), filename="a.csv", content=content, by=coach)
    import_check(source=source)
    run(source.pk)
    waiting = import_begin(key=uuid4(), filename="b.csv", content=content, by=coach)
    Import.objects.filter(pk=source.pk).update(state="done", content=b"")
    athlete_erase(athlete=zelda)
    assert set(ImportRemark.objects.values_list("subject", flat=True)) == {"Athlete 0002"}
    assert not Import.objects.filter(pk=waiting.pk).exists()


def test_the_page_asks_for_the_name_and_is_the_owners(zelda, owner_client, coach_client):
    address = f"/athletes/{zelda.pk}/erase/"
    assert coach_client.get(address).status_code == 403
    assert address not in coach_client.get(f"/athletes/{zelda.pk}/").content.decode()
    assert address in owner_client.get(f"/athletes/{zelda.pk}/").content.decode()
    assert "9 targets" in owner_client.get(address).content.decode()
    assert "Type “Zelda Quirk”" in owner_client.post(address, {"name": "Zelda"}).content.decode()
    assert Link.objects.filter(athlete=zelda).exists()
    for _ in range(2):
        assert owner_client.post(address, {"name": "zelda quirk"}).headers["Location"] == "/athletes/"
    assert not Athlete.objects.filter(pk=zelda.pk).exists()


def test_pages_of_a_moment_ago_that_no_row_names_go_at_once(zelda, settings, django_capture_on_commit_callbacks):
    left = settings.MEDIA_ROOT / files.write("<p>Zelda, as she was drawn a second ago</p>", ".html")
    os.utime(left, (time.time() - 1, time.time() - 1))
    with django_capture_on_commit_callbacks(execute=True):
        athlete_erase(athlete=zelda)
    assert not left.exists()
    assert "Zelda" not in texts_on_disk(settings.MEDIA_ROOT)


def test_another_name_of_theirs_goes_along(zelda, coach):
    gone = Athlete.objects.exclude(pk=zelda.pk).first()
    athletes_merge(keep=zelda, gone=gone, by=coach)
    athlete_erase(athlete=zelda)
    assert not Athlete.everyone.filter(pk__in=[zelda.pk, gone.pk]).exists()
    assert not any(rows_of(gone.pk).values())


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL keeps its files elsewhere, and itself.")
@pytest.mark.django_db(transaction=True)
def test_no_file_of_the_database_holds_the_name(zelda):
    with connection.cursor() as cursor:
        assert cursor.execute("PRAGMA secure_delete").fetchone() == (1,)
    assert b"Zelda Quirk" in bytes_of_database()
    athlete_erase(athlete=zelda)
    assert b"Zelda" not in bytes_of_database()


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL keeps its files elsewhere, and itself.")
@pytest.mark.django_db(transaction=True)
def test_while_somebody_reads_nobody_waits_and_the_night_empties_the_log(zelda):
    reader = sqlite3.connect(connection.settings_dict["NAME"], isolation_level=None)
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM athletes_athlete").fetchone()
    athlete_erase(athlete=zelda)
    assert b"Zelda" in bytes_of_database()
    reader.close()
    boards_sweep()
    assert b"Zelda" not in bytes_of_database()


def bytes_of_database() -> bytes:
    """All that stands in SQLite's file and in its log."""
    file = Path(connection.settings_dict["NAME"])
    return b"".join(path.read_bytes() for path in file.parent.glob(f"{file.name}*"))
