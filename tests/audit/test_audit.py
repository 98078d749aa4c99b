"""Who saw and changed what is private: kept for good, seen by the owner, and by the athlete it concerns."""

from datetime import date

import pytest
from django.db import DatabaseError, connection, transaction
from django.urls import reverse

from athletes.audit.pages import PAGES, words
from athletes.links.write import link_issue
from athletes.models import Athlete, AuditEntry
from coachhub.access import RULES
from tests.phones import open_page


@pytest.fixture
def ada(gym_row, make_athlete) -> Athlete:
    return make_athlete("Ada Stone", born=date(1990, 5, 1), note="Likes rowing.")


def said() -> list[str]:
    return [f"{entry.by} {words(entry.page, entry.changed)} ({entry.athlete_id})" for entry in AuditEntry.objects.all()]


def test_looking_and_changing_are_entered_once_they_succeed(ada, staff_client, coach_client):
    staff_client.get(reverse("athletes:detail", args=[ada.pk]))
    coach_client.get(reverse("sessions:everything", args=[ada.pk]))
    coach_client.post(reverse("athletes:link-renew", args=[ada.pk]))
    assert said() == [
        f"The coach made a new link ({ada.pk})",
        f"The coach looked at everything, as a file ({ada.pk})",
        f"The staff looked at the page ({ada.pk})",
    ]
    staff_client.get(reverse("sessions:everything", args=[ada.pk]))  # refused
    staff_client.get(reverse("athletes:detail", args=[999]))  # nobody
    staff_client.get(reverse("athletes:list"))
    assert AuditEntry.objects.count() == 3


def test_what_a_program_reads_with_a_token_is_entered_too(ada, coach_api):
    coach_api.get(reverse("api:athlete-detail", args=[ada.pk]))
    assert said() == [f"The coach looked at the facts, by API ({ada.pk})"]


def test_a_limitation_is_entered_with_whom_it_is_about(ada, coach_api, coach_client):
    sent = {"athlete": ada.pk, "kind": "body", "patterns": ["pull"], "starts_on": "2026-01-05"}
    everyone = reverse("api:limitation-list")
    kept = coach_api.post(everyone, sent, "application/json").json()["id"]
    coach_api.get(everyone, {"athlete": ada.pk})
    coach_api.get(everyone)
    coach_api.post(reverse("api:limitation-end", args=[kept]))
    coach_client.post(reverse("athletes:limitation-end", args=[kept]))
    assert said()[::-1] == [
        f"The coach entered a limitation, by API ({ada.pk})",
        f"The coach looked at limitations, by API ({ada.pk})",
        "The coach looked at limitations, by API (None)",
        f"The coach ended a limitation, by API ({ada.pk})",
        f"The coach ended a limitation ({ada.pk})",
    ]


def test_the_owner_sees_it_and_nobody_else_does(ada, staff_client, owner_client, coach_client):
    staff_client.get(reverse("athletes:detail", args=[ada.pk]))
    page = owner_client.get(reverse("athletes:audit")).content.decode()
    assert "looked at the page" in page
    assert "Ada Stone" in page
    assert "Ada Stone" not in owner_client.get(reverse("athletes:audit"), {"athlete": 999}).content.decode()
    assert coach_client.get(reverse("athletes:audit")).status_code == 403


def test_an_entry_outlives_the_athlete_and_names_nobody_then(ada, staff_client, owner_client):
    staff_client.get(reverse("athletes:detail", args=[ada.pk]))
    owner_client.post(reverse("sessions:erase", args=[ada.pk]), {"name": "Ada Stone"})
    page = owner_client.get(reverse("athletes:audit")).content.decode()
    assert "somebody who was erased" in page
    assert "erased the athlete" in page
    assert "Ada" not in page


def test_entries_are_neither_changed_nor_removed(ada, staff_client):
    staff_client.get(reverse("athletes:detail", args=[ada.pk]))
    entry = AuditEntry.objects.get()
    entry.by = "Nobody"
    for act in (entry.save, entry.delete):
        with pytest.raises(TypeError):
            act()
    if connection.vendor == "postgresql":
        for change in (
            lambda: AuditEntry.objects.update(by="x"),
            lambda: AuditEntry.objects.all()._raw_delete("default"),
        ):
            with pytest.raises(DatabaseError, match="neither changed"), transaction.atomic():
                change()


def test_an_account_may_go_and_its_entries_stay(ada, staff_client, staff):
    staff_client.get(reverse("athletes:detail", args=[ada.pk]))
    staff.delete()
    entry = AuditEntry.objects.get()
    assert (entry.account, entry.by) == (None, "The staff")


def test_every_page_that_is_entered_exists_and_says_something():
    assert set(PAGES) <= set(RULES)
    assert all(looked or sent for looked, sent in PAGES.values())


def test_the_list_costs_the_same_however_long_it_is(ada, owner, owner_client, django_assert_max_num_queries):
    AuditEntry.objects.bulk_create(
        AuditEntry(account=owner, by="x", page="athletes:detail", changed=False, athlete_id=ada.pk) for _ in range(250)
    )
    with django_assert_max_num_queries(7):
        page = owner_client.get(reverse("athletes:audit"), {"page": 2}).content.decode()
    assert page.count("<tr><td>") == 100


def test_an_athlete_reads_what_is_kept_and_who_looked(ada, staff_client):
    staff_client.get(reverse("athletes:detail", args=[ada.pk]))
    page = open_page(link_issue(athlete=ada, by=None), "phone-stored").content.decode()
    for sentence in ("your date of birth", "a note of staff", "The staff looked at the page", "erased"):
        assert sentence in page
    assert "Likes rowing" not in page


def test_a_minor_has_a_guardian_who_agreed(gym_row, make_athlete, staff_client):
    young = make_athlete("Mia Reed", born=date.today().replace(year=date.today().year - 15, day=1))
    detail = reverse("athletes:detail", args=[young.pk])
    assert "nobody is named for this minor" in staff_client.get(detail).content.decode()
    sent = {"name": "Mia Reed", "board_name": "Mia", "born": young.born, "load_unit": "kg", "active": "on"}
    page = staff_client.post(reverse("athletes:change", args=[young.pk]), {**sent, "guardian_agreed_on": "2026-01-05"})
    assert "Say who agreed." in page.content.decode()
    sent |= {"guardian": "Eve Reed", "guardian_contact": "+351 000 000", "guardian_agreed_on": "2026-01-05"}
    staff_client.post(reverse("athletes:change", args=[young.pk]), sent)
    assert "agreed on 5 Jan 2026" in staff_client.get(detail).content.decode()


def test_what_was_refused_is_not_entered(ada, owner_client):
    owner_client.post(reverse("sessions:erase", args=[ada.pk]), {"name": "Somebody else"})
    owner_client.post(reverse("account-password"), {"old_password": "a guess"})
    assert Athlete.objects.filter(pk=ada.pk).exists()
    assert said() == []
