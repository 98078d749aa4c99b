from datetime import timedelta
from uuid import uuid4

import pytest

from athletes.gym.read import today
from athletes.models import Limitation
from athletes.trials.cautions import not_all_out


def sent(**more) -> dict:
    form = {"kind": "body", "patterns": ["pull"], "starts_on": today().isoformat(), "key": str(uuid4())}
    return form | more


def test_it_is_kept_with_who_entered_it(staff_client, make_athlete, staff):
    athlete = make_athlete()
    staff_client.post(f"/athletes/{athlete.pk}/limitations/", sent())
    limitation = Limitation.objects.get()
    assert (limitation.athlete, limitation.patterns, limitation.entered_by) == (athlete, ["pull"], staff)


def test_sending_it_twice_keeps_one(staff_client, make_athlete, row_movement):
    athlete, form = make_athlete(), sent(movements=[row_movement.pk])
    for _ in range(2):
        assert staff_client.post(f"/athletes/{athlete.pk}/limitations/", form).status_code == 302
    assert list(Limitation.objects.get().movements.all()) == [row_movement]


def test_another_one_under_the_same_key_is_not_lost_silently(staff_client, make_athlete):
    athlete, form = make_athlete(), sent()
    staff_client.post(f"/athletes/{athlete.pk}/limitations/", form)
    page = staff_client.post(f"/athletes/{athlete.pk}/limitations/", {**form, "note": "Left knee"}).content.decode()
    assert "Another limitation was kept from this page before" in page
    assert "Left knee" in page
    assert Limitation.objects.get().note == ""


def test_a_pregnancy_says_enough_by_itself(staff_client, make_athlete):
    athlete = make_athlete()
    address = f"/athletes/{athlete.pk}/limitations/"
    page = staff_client.post(address, sent(kind="pregnancy", patterns=[]), follow=True).content.decode()
    assert "No tests, no automatic targets." in page
    assert "Out:" not in page
    assert not_all_out([athlete], today())


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"patterns": []}, "Choose at least one pattern or one movement"),
        ({"review_on": "2001-01-01"}, "The review comes after the first day"),
        ({"kind": ""}, "This field is required"),
    ],
)
def test_wrong_input_keeps_what_was_typed(staff_client, make_athlete, wrong, sentence):
    athlete = make_athlete()
    page = staff_client.post(
        f"/athletes/{athlete.pk}/limitations/", sent(note="Left shoulder", **wrong)
    ).content.decode()
    assert sentence in page
    assert "Left shoulder" in page
    assert not Limitation.objects.exists()


def test_ending_it_keeps_the_row(staff_client, make_athlete):
    start = today() - timedelta(days=5)
    limitation = Limitation.objects.create(athlete=make_athlete(), kind="skill", patterns=["push"], starts_on=start)
    page = staff_client.post(f"/limitations/{limitation.pk}/end/", follow=True).content.decode()
    limitation.refresh_from_db()
    assert limitation.review_on == today()
    assert "ended today" in page


def test_ending_what_is_over_leaves_the_day_on_which_it_ended(staff_client, make_athlete):
    start, end = today() - timedelta(days=60), today() - timedelta(days=30)
    facts = {"kind": "skill", "patterns": ["push"], "starts_on": start, "review_on": end}
    limitation = Limitation.objects.create(athlete=make_athlete(), **facts)
    staff_client.post(f"/limitations/{limitation.pk}/end/")
    limitation.refresh_from_db()
    assert limitation.review_on == end


def test_it_ends_by_post_only_and_not_for_the_signed_out(staff_client, client, make_athlete):
    limitation = Limitation.objects.create(
        athlete=make_athlete(), kind="skill", patterns=["push"], starts_on=today() - timedelta(days=5)
    )
    assert staff_client.get(f"/limitations/{limitation.pk}/end/").status_code == 405
    client.post(f"/limitations/{limitation.pk}/end/")
    limitation.refresh_from_db()
    assert limitation.review_on is None
