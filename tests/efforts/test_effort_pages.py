from datetime import timedelta
from uuid import uuid4

import pytest

from athletes.gym.read import today
from athletes.models import Effort


@pytest.fixture
def ada(make_athlete, row_2000, record):
    athlete = make_athlete()
    for typed in ("7:42.3", "7:40.1", "7:45.0"):
        record(athlete, row_2000, typed)
    return athlete


def sent(benchmark, typed: str, more: dict | None = None) -> dict:
    form = {"benchmark": benchmark.pk, "typed": typed, "performed_on": today().isoformat(), "key": str(uuid4())}
    return form | (more or {})


def test_a_result_is_kept(staff_client, ada, row_2000, staff):
    response = staff_client.post(f"/athletes/{ada.pk}/efforts/", sent(row_2000, "1:55.6/500"), follow=True)
    effort = Effort.objects.latest("pk")
    assert effort.value == pytest.approx(462.4)
    assert effort.entered_by == staff
    assert "2000 m row, 7:42.4 is kept for Ada Stone." in response.content.decode()


def test_sending_it_twice_keeps_one(staff_client, ada, row_2000):
    form, count = sent(row_2000, "7:41.0"), Effort.objects.count()
    for _ in range(2):
        staff_client.post(f"/athletes/{ada.pk}/efforts/", form)
    assert Effort.objects.count() == count + 1


def test_another_result_under_an_old_key_is_refused_and_stays_in_the_form(staff_client, ada, row_2000):
    form = sent(row_2000, "7:41.0")
    staff_client.post(f"/athletes/{ada.pk}/efforts/", form)
    page = staff_client.post(f"/athletes/{ada.pk}/efforts/", {**form, "typed": "7:39.0"}).content.decode()
    assert "sent before, for Ada Stone in 2000 m row: “7:41.0”, today" in page
    assert 'value="7:39.0"' in page


@pytest.mark.parametrize(
    ("typed", "more", "sentence"),
    [
        ("seven", {}, "is not understood"),
        ("7:42.3", {"performed_on": "2100-01-01"}, "This day has not come yet"),
        ("7:42.3", {"benchmark": ""}, "This field is required"),
    ],
)
def test_what_is_wrong_is_said_and_kept_in_the_form(staff_client, ada, row_2000, typed, more, sentence):
    page = staff_client.post(f"/athletes/{ada.pk}/efforts/", sent(row_2000, typed, more)).content.decode()
    assert sentence in page
    assert f'value="{typed}"' in page


def test_a_doubtful_result_is_asked_about_then_kept(staff_client, ada, row_2000):
    form, count = sent(row_2000, "3:20"), Effort.objects.count()
    page = staff_client.post(f"/athletes/{ada.pk}/efforts/", form).content.decode()
    assert "Keep 3:20" in page
    assert Effort.objects.count() == count
    answer = f"{row_2000.pk} {today()} 3:20"
    assert answer in page
    staff_client.post(f"/athletes/{ada.pk}/efforts/", {**form, "confirmed": answer})
    assert Effort.objects.latest("pk").question


def test_keeping_does_not_answer_for_another_result(staff_client, ada, row_2000):
    form = sent(row_2000, "2:20", {"confirmed": f"{row_2000.pk} {today()} 3:20"})
    count = Effort.objects.count()
    assert "Keep 2:20" in staff_client.post(f"/athletes/{ada.pk}/efforts/", form).content.decode()
    assert Effort.objects.count() == count


def test_correcting_voids_the_earlier_one(staff_client, ada, row_2000):
    wrong = Effort.objects.first()
    url = f"/athletes/{ada.pk}/efforts/?replaces={wrong.pk}"
    assert f'value="{wrong.typed}"' in staff_client.get(url).content.decode()
    staff_client.post(url, sent(row_2000, "7:43.9", {"performed_on": (today() - timedelta(days=3)).isoformat()}))
    wrong.refresh_from_db()
    assert wrong.voided_at
    assert wrong.replaced_by.typed == "7:43.9"
    assert "voided already" in staff_client.get(url, follow=True).content.decode()


def test_sending_a_correction_twice_keeps_one(staff_client, ada, row_2000):
    url, form = f"/athletes/{ada.pk}/efforts/?replaces={Effort.objects.first().pk}", sent(row_2000, "7:43.9")
    for _ in range(2):
        assert staff_client.post(url, form).status_code == 302
    assert Effort.objects.filter(typed="7:43.9").count() == 1


def test_correcting_what_was_corrected_is_refused_in_words(staff_client, ada, row_2000):
    url = f"/athletes/{ada.pk}/efforts/?replaces={Effort.objects.first().pk}"
    staff_client.post(url, sent(row_2000, "7:43.9"))
    page = staff_client.post(url, sent(row_2000, "7:44.9"))
    assert "corrected before, to “7:43.9”" in page.content.decode()
    assert not Effort.objects.filter(typed="7:44.9").exists()


def test_another_athletes_result_cannot_be_replaced(staff_client, ada, make_athlete):
    other = make_athlete("Ben Hill")
    assert staff_client.get(f"/athletes/{other.pk}/efforts/?replaces={Effort.objects.first().pk}").status_code == 404


def test_voiding_asks_for_a_reason(staff_client, ada):
    effort = Effort.objects.first()
    assert "This field is required" in staff_client.post(f"/efforts/{effort.pk}/void/", {"reason": ""}).content.decode()
    page = staff_client.post(f"/efforts/{effort.pk}/void/", {"reason": "Damper at 10."}, follow=True).content.decode()
    effort.refresh_from_db()
    assert effort.void_reason == "Damper at 10."
    assert "no longer counts" in page
    assert "Voided by The staff: Damper at 10." in page
    assert "voided already" in staff_client.get(f"/efforts/{effort.pk}/void/").content.decode()


def test_the_signed_out_can_do_nothing(client, ada, row_2000):
    count = Effort.objects.count()
    client.post(f"/athletes/{ada.pk}/efforts/", sent(row_2000, "7:41.0"))
    client.post(f"/efforts/{Effort.objects.first().pk}/void/", {"reason": "x"})
    assert Effort.objects.standing().count() == count
