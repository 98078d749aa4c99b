"""Who saw and changed what is private: kept for good, seen by the owner, and by the athlete it concerns."""

import time
from datetime import date, timedelta

import pytest
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django_otp.oath import TOTP
from django_otp.plugins.otp_static.models import StaticDevice
from django_otp.plugins.otp_totp.models import TOTPDevice

from athletes.audit.pages import EVENTS, PAGES, words
from athletes.links.write import link_issue
from athletes.models import Athlete, AuditEntry, Merge
from coachhub.access import RULES
from sessions.models import PublishedSession
from tests.conftest import PASSWORD, client_of
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


def test_entries_are_neither_changed_nor_removed(ada, staff_client, guarded_audit):
    staff_client.get(reverse("athletes:detail", args=[ada.pk]))
    entry = AuditEntry.objects.get()
    entry.by = "Nobody"
    for act in (entry.save, entry.delete):
        with pytest.raises(TypeError):
            act()
    changes = ["UPDATE {} SET by = 'x'", "UPDATE {} SET account_id = 999999", "DELETE FROM {}"]
    changes += ["TRUNCATE {}"] if connection.vendor == "postgresql" else ["REPLACE INTO {} SELECT * FROM {}"]
    for change in changes:
        with pytest.raises(DatabaseError, match="neither changed"), transaction.atomic():
            connection.cursor().execute(change.format(*[AuditEntry._meta.db_table] * 2))
    assert AuditEntry.objects.get().by == "The staff"


def test_after_a_year_an_entry_may_go(staff, guarded_audit, monkeypatch):
    new = AuditEntry.objects.create(account=staff, by="new", page="login", changed=True)
    long_ago = timezone.now() - timedelta(days=367)
    monkeypatch.setattr(timezone, "now", lambda: long_ago)
    AuditEntry.objects.create(account=staff, by="old", page="login", changed=True)
    AuditEntry.objects.filter(by="old")._raw_delete("default")
    assert list(AuditEntry.objects.all()) == [new]


def test_an_account_may_go_and_its_entries_stay(ada, staff_client, staff, guarded_audit):
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


def test_what_is_private_is_entered_once_where_a_page_shows_it(live_week, coach_client):
    session, athlete = PublishedSession.objects.first(), Athlete.objects.first()
    target = session.targets.filter(athlete=athlete).first()
    looked = {
        reverse("sessions:flags"): "who had pain or stopped (None)",
        reverse("sessions:floor", args=[session.pk]): "the floor sheet of a class (None)",
        reverse("sessions:targets", args=[athlete.pk]): f"the targets ({athlete.pk})",
        reverse("sessions:target", args=[target.pk]): f"a target and its reasons ({athlete.pk})",
        reverse("sessions:pace", args=[athlete.pk]): f"the paces ({athlete.pk})",
    }
    for address in looked:
        assert coach_client.get(address).status_code == 200
    for polled in ("sessions:floor-rows", "sessions:clock-state"):
        assert coach_client.get(reverse(polled, args=[session.pk])).status_code == 200
    assert said()[::-1] == [f"The coach looked at {words}" for words in looked.values()]


def test_results_targets_and_cautions_that_a_program_reads_are_entered(ada, coach_api, row_2000, record):
    effort = record(ada, row_2000, "7:42")
    coach_api.get(reverse("api:effort-list"), {"athlete": ada.pk})
    coach_api.get(reverse("api:effort-detail", args=[effort.pk]))
    coach_api.get(reverse("api:target-list"))
    coach_api.get(reverse("api:override-list"), {"athlete": ada.pk})
    assert said()[::-1] == [
        f"The coach looked at results, by API ({ada.pk})",
        f"The coach looked at a result, by API ({ada.pk})",
        "The coach looked at targets, by API (None)",
        f"The coach looked at cautions set aside, by API ({ada.pk})",
    ]


def test_two_made_one_and_parted_again_are_entered(ada, make_athlete, coach_client, coach_api):
    gone = make_athlete("Ada S.")
    coach_client.post(reverse("athletes:merge", args=[ada.pk]), {"gone": gone.pk})
    coach_client.post(reverse("athletes:merge-undo", args=[Merge.objects.get().pk]))
    coach_api.post(reverse("api:merge-list"), {"keep": ada.pk, "gone": gone.pk}, "application/json")
    merge = Merge.objects.latest("pk")
    coach_api.post(reverse("api:merge-undo", args=[merge.pk]))
    Merge.objects.filter(pk=merge.pk).update(made_at=timezone.now() - timedelta(days=2), undone_at=None)
    coach_client.post(reverse("athletes:merge-undo", args=[merge.pk]))  # refused
    assert said()[::-1] == [
        f"The coach made one of two athletes ({ada.pk})",
        f"The coach parted two athletes again ({ada.pk})",
        f"The coach made one of two athletes, by API ({ada.pk})",
        f"The coach parted two athletes again, by API ({ada.pk})",
    ]


def test_only_what_happened_to_an_account_is_entered(coach, coach_client, gym_row):
    token, devices = reverse("account-token"), reverse("account-sign-ins-off")
    for sent in ({"password": "a guess"}, {"password": PASSWORD}, {"remove": "1"}):
        coach_client.post(token, sent)
    coach_client.post(devices)  # there is none
    client_of(coach)
    coach_client.post(devices)
    coach_client.post(reverse("account-passkey-remove", args=[999]))
    coach_client.post(reverse("account-second-off"), {"password": "a guess"})
    coach_client.post(reverse("account-second-off"), {"password": PASSWORD})
    assert said()[::-1] == [
        "The coach made an API token (None)",
        "The coach removed the API token (None)",
        "The coach signed out other devices (None)",
        "The coach removed the own second step (None)",
    ]


def test_codes_that_are_set_up_are_entered_and_wrong_ones_are_not(coach, coach_client, gym_row):
    address = reverse("account-codes")
    coach_client.get(address)
    device = TOTPDevice.objects.get(user=coach)
    coach_client.post(address, {"code": "12", "password": PASSWORD})
    device.throttle_reset()
    right = TOTP(device.bin_key, device.step, device.t0, device.digits)
    right.time = time.time()
    coach_client.post(address, {"code": f"{right.token():06d}", "password": PASSWORD})
    assert said() == ["The coach set up codes from an app (None)"]


def test_sign_ins_are_entered_and_those_that_were_refused(coach, settings, gym_row):
    settings.AXES_ENABLED, sent = True, {"username": coach.username}
    for number in range(settings.AXES_FAILURE_LIMIT + 5):
        Client().post(reverse("login"), {**sent, "password": f"guess {number}"})
    Client().post(reverse("login"), {"username": "nobody", "password": "x"})
    assert said() == [f"The coach {EVENTS['sign-in-refused']} (None)"] * settings.AXES_FAILURE_LIMIT
    Client().post(reverse("login"), {**sent, "password": PASSWORD}, REMOTE_ADDR="198.51.100.1")
    assert said()[0] == "The coach signed in (None)"


def test_a_guess_at_an_open_page_is_entered(coach_client, settings):
    settings.AXES_ENABLED = True
    coach_client.post(reverse("account-token"), {"password": "a guess"})
    assert said() == [f"The coach {EVENTS['own-password-refused']} (None)"]


def test_the_second_step_is_entered_too(coach, gym_row):
    StaticDevice.objects.create(user=coach, name="paper").token_set.create(token="abcdefgh")
    client = Client()
    client.post(reverse("login"), {"username": coach.username, "password": PASSWORD})
    client.post(reverse("login-second"), {"code": "wrong"})
    StaticDevice.objects.get().throttle_reset()
    client.post(reverse("login-second"), {"code": "abcdefgh"})
    assert said()[::-1] == [
        f"The coach {EVENTS['code-refused']} (None)",
        "The coach signed in, with a second step (None)",
    ]
