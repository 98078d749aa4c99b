from datetime import date, timedelta

import pytest

from athletes.gym.read import today
from athletes.links.read import athlete_for_token
from athletes.links.write import link_issue
from athletes.models import Athlete, Estimate
from athletes.people.write import leaves_apply

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


def test_who_goes_away_takes_no_part_and_comes_back_gently(staff_client, make_athlete):
    ada, day = make_athlete(), today()
    form = {"name": ada.name, "board_name": ada.board_name, "load_unit": "kg", "active": "on"}
    away = {"leave_from": day + timedelta(days=3), "leave_until": day + timedelta(days=17)}
    assert staff_client.post(f"/athletes/{ada.pk}/change/", form | away).status_code == 302
    for later, active in ((0, True), (3, False), (16, False), (17, True)):
        leaves_apply(day + timedelta(days=later))
        ada.refresh_from_db()
        assert ada.active == active
    assert (ada.returned_on, ada.leave_from, ada.leave_until) == (day + timedelta(days=17), None, None)


def test_who_goes_away_today_is_off_at_once_and_nobody_is_back_before(staff_client, make_athlete):
    ada = make_athlete()
    form = {"name": ada.name, "board_name": ada.board_name, "load_unit": "kg", "active": "on"}
    bad = form | {"leave_from": today(), "leave_until": today()}
    assert "comes back on a later day" in staff_client.post(f"/athletes/{ada.pk}/change/", bad).content.decode()
    staff_client.post(f"/athletes/{ada.pk}/change/", form | {"leave_from": today()})
    page = staff_client.get(f"/athletes/{ada.pk}/").content.decode()
    assert "does not take part" in page
    assert "away from today" in page


def test_who_comes_back_early_from_leave_keeps_the_link(staff_client, make_athlete, coach):
    ada = make_athlete()
    token = link_issue(athlete=ada, by=coach).token
    form = {"name": ada.name, "board_name": ada.board_name, "load_unit": "kg", "active": "on"}
    only_back = staff_client.post(f"/athletes/{ada.pk}/change/", form | {"leave_until": today() + timedelta(days=9)})
    assert "Give the first day away too" in only_back.content.decode()
    staff_client.post(f"/athletes/{ada.pk}/change/", form | {"leave_from": today()})
    assert athlete_for_token(token) is None
    staff_client.post(f"/athletes/{ada.pk}/change/", form)
    assert athlete_for_token(token) == ada
