"""How much may be sent, by whom: what the web server cannot know yet."""

import pytest
from django.apps import apps
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import models
from django.urls import reverse

from athletes.models import Import
from coachhub.limits import SIGNED_IN, STRANGER


def sent(client, url: str, size: int):
    return client.post(url, {"note": "x" * size})


def test_a_stranger_is_refused_above_64_kb_and_a_coach_is_not(client, coach_client, gym_row):
    assert sent(client, reverse("login"), STRANGER).status_code == 413
    assert sent(coach_client, reverse("account"), STRANGER).status_code == 302
    assert sent(coach_client, reverse("account"), SIGNED_IN).status_code == 413


def test_a_file_is_taken_by_those_who_may_bring_one_in(client, staff_client, coach_client, gym_row):
    table = b"name,2000 m row\n" + b"Ada,7:42.3\n" * 20_000  # 220 kB
    url = reverse("athletes:imports")

    def bring(who):
        file = SimpleUploadedFile("results.csv", table)
        return who.post(url, {"file": file, "key": "7e6bb0a4-5a0e-4f0e-9d3c-0a1b2c3d4e5f"}).status_code

    assert bring(client) == 302  # to sign in, before a byte of it is looked at
    assert bring(staff_client) == 403
    assert not Import.objects.exists()
    assert bring(coach_client) == 302
    assert Import.objects.count() == 1


def test_a_file_sent_to_another_page_is_passed_over(coach_client, gym_row, monkeypatch):
    def kept(*args, **options):
        raise AssertionError("a file was kept")

    monkeypatch.setattr("django.core.files.uploadhandler.MemoryFileUploadHandler.new_file", kept)
    file = SimpleUploadedFile("anything.bin", b"x" * 1000)
    assert coach_client.post(reverse("account"), {"theme": "dark", "file": file}).status_code == 302


@pytest.mark.parametrize("app", ["athletes", "training"])
def test_every_text_that_people_write_has_an_end(app):
    fields = [(m, f) for m in apps.get_app_config(app).get_models() for f in m._meta.fields]
    texts = [(m.__name__, f.name) for m, f in fields if isinstance(f, models.TextField) and not f.max_length]
    assert [name for name in texts if name[1] != "failure"] == []
