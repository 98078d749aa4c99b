from datetime import date

import pytest

from athletes.models import Athlete, Estimate

FACTS = {"name": "Ada Stone", "load_unit": "kg", "active": "on", "sex": ""}


def test_a_name_is_enough_and_a_link_is_made(staff_client):
    response = staff_client.post("/athletes/new/", FACTS, follow=True)
    athlete = Athlete.objects.get()
    assert athlete.board_name == "Ada"
    assert athlete.links.count() == 1
    assert "Ada Stone is in." in response.content.decode()


def test_a_taken_board_name_keeps_what_was_typed(staff_client, make_athlete):
    make_athlete("Ada Hill", board_name="Ada")
    page = staff_client.post("/athletes/new/", {**FACTS, "note": "Left-handed"}).content.decode()
    assert "Someone else has this name on the board" in page
    assert "Left-handed" in page
    assert Athlete.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"born": "2100-01-01"}, "lies in the past"),
        ({"body_mass_kg": "7"}, "greater than or equal to 25"),
        ({"name": ""}, "This field is required"),
    ],
)
def test_wrong_facts_are_refused_in_words(staff_client, wrong, sentence):
    page = staff_client.post("/athletes/new/", {**FACTS, **wrong}).content.decode()
    assert sentence in page
    assert not Athlete.objects.exists()


def test_staff_say_since_when_someone_is_back(staff_client, make_athlete):
    athlete = make_athlete()
    staff_client.post(f"/athletes/{athlete.pk}/change/", {**FACTS, "returned_on": "2026-11-02"})
    athlete.refresh_from_db()
    assert athlete.returned_on == date(2026, 11, 2)
    assert "Back after a break since" in staff_client.get(f"/athletes/{athlete.pk}/").content.decode()


def test_changing_keeps_the_rest(staff_client, make_athlete):
    athlete = make_athlete(born=date(1990, 5, 1))
    response = staff_client.post(f"/athletes/{athlete.pk}/change/", {**FACTS, "board_name": "AS", "born": "1990-05-01"})
    assert response.status_code == 302
    athlete.refresh_from_db()
    assert (athlete.board_name, athlete.born) == ("AS", date(1990, 5, 1))


def test_a_new_body_mass_brings_estimates_up_to_date(staff_client, make_athlete, row_2000, record):
    athlete = make_athlete()
    record(athlete, row_2000, "7:42.3")
    before = Estimate.objects.get(engine="row").mean
    staff_client.post(f"/athletes/{athlete.pk}/change/", {**FACTS, "body_mass_kg": "95"})
    assert Estimate.objects.get(engine="row").mean != before


def test_while_the_form_is_wrong_the_page_names_the_athlete_as_kept(staff_client, make_athlete):
    athlete = make_athlete()
    page = staff_client.post(f"/athletes/{athlete.pk}/change/", {**FACTS, "name": ""}).content.decode()
    assert "Change Ada Stone" in page


def test_the_signed_out_cannot_add(client, db):
    client.post("/athletes/new/", FACTS)
    assert not Athlete.objects.exists()
