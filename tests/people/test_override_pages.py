"""Cautions set aside: by coaches, for a time, with a reason that stays."""

from datetime import timedelta
from uuid import uuid4

import pytest

from athletes.gym.read import today
from athletes.models import Athlete, Limitation, Movement, Override
from athletes.people.read import overrides_on


@pytest.fixture
def ada(make_athlete, gym_row) -> Athlete:
    return make_athlete()


@pytest.fixture
def jump(db) -> Movement:
    return Movement.objects.create(name="Box jump", slug="box-jump", kind="repetitions", high_eccentric=True)


def sent(**more) -> dict:
    ends_on = (today() + timedelta(days=10)).isoformat()
    return {"caution": "exposure", "ends_on": ends_on, "reason": "Jumped all summer.", "key": str(uuid4()), **more}


def standing(athlete: Athlete, days: int = 10, begun: int = 0, **more) -> Override:
    day = today()
    facts = {"caution": "return", "reason": "Trained elsewhere.", **more}
    return Override.objects.create(
        athlete=athlete, starts_on=day - timedelta(days=begun), ends_on=day + timedelta(days=days), **facts
    )


def test_a_coach_sets_one_aside_from_today(coach_client, coach, ada, jump):
    coach_client.post(f"/athletes/{ada.pk}/overrides/", sent(movement=jump.pk))
    override = Override.objects.get()
    assert (override.athlete, override.movement, override.made_by) == (ada, jump, coach)
    assert (override.starts_on, override.ends_on) == (today(), today() + timedelta(days=10))


def test_sending_it_twice_keeps_one(coach_client, ada):
    form = sent()
    for _ in range(2):
        assert coach_client.post(f"/athletes/{ada.pk}/overrides/", form).status_code == 302
    assert Override.objects.count() == 1
    again = coach_client.post(f"/athletes/{ada.pk}/overrides/", {**form, "caution": "return"}).content.decode()
    assert "Something else was kept from this page before." in again


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"reason": "  "}, "This field is required."),
        ({"caution": ""}, "This field is required."),
        ({"ends_on": 29}, "At most 28 days ahead."),
        ({"ends_on": 367, "caution": "no_target"}, "At most 366 days ahead."),
        ({"ends_on": -1}, "The last day does not come before the first."),
    ],
)
def test_a_wrong_one_keeps_what_was_typed(coach_client, ada, wrong, sentence):
    if isinstance(wrong.get("ends_on"), int):
        wrong |= {"ends_on": (today() + timedelta(days=wrong["ends_on"])).isoformat()}
    page = coach_client.post(f"/athletes/{ada.pk}/overrides/", {**sent(), **wrong}).content.decode()
    assert sentence in page
    assert "reason" in wrong or "Jumped all summer." in page
    assert not Override.objects.exists()


def test_a_return_is_not_of_one_movement(coach_client, ada, jump):
    page = coach_client.post(f"/athletes/{ada.pk}/overrides/", sent(caution="return", movement=jump.pk))
    assert "Only the amount is of one movement." in page.content.decode()


def test_only_movements_that_make_sore_are_offered(coach_client, ada, jump):
    Movement.objects.create(name="Air squat", slug="air-squat", kind="repetitions")
    page = coach_client.get(f"/athletes/{ada.pk}/overrides/").content.decode()
    assert "Box jump" in page
    assert "Air squat" not in page


def test_the_page_says_what_it_means_and_what_goes_before(coach_client, ada):
    page = coach_client.get(f"/athletes/{ada.pk}/overrides/").content.decode()
    assert "that is for licensed care to say" in page
    assert "local rules go before" in page


def test_all_staff_read_on_the_athletes_page_who_why_and_until_when(staff_client, coach, ada, jump):
    standing(ada, days=1, caution="exposure", movement=jump, made_by=coach, reason="Jumps every day at work.")
    page = staff_client.get(f"/athletes/{ada.pk}/").content.decode()
    assert "<strong>Amount of a new movement</strong>: Box jump" in page
    assert "Set aside until tomorrow by The coach: Jumps every day at work." in page
    assert "/overrides/" not in page  # to set one aside, or to end one, is for coaches


def test_what_is_over_is_not_shown(staff_client, ada):
    standing(ada, days=-1, begun=9)
    assert "Trained elsewhere." not in staff_client.get(f"/athletes/{ada.pk}/").content.decode()


def test_ending_it_keeps_the_row_and_today(coach_client, ada):
    override = standing(ada, begun=3)
    for _ in range(2):
        assert coach_client.post(f"/overrides/{override.pk}/end/").status_code == 302
    override.refresh_from_db()
    assert override.ends_on == today()
    assert overrides_on([ada.pk], today()) == {ada.pk: [override]}
    assert overrides_on([ada.pk], today() + timedelta(days=1)) == {}


def test_ending_what_is_over_does_not_bring_it_back(coach_client, ada):
    override = standing(ada, days=-2, begun=9)
    coach_client.post(f"/overrides/{override.pk}/end/")
    override.refresh_from_db()
    assert override.ends_on == today() - timedelta(days=2)


def test_staff_set_nothing_aside(staff_client, ada):
    assert staff_client.get(f"/athletes/{ada.pk}/overrides/").status_code == 403
    override = standing(ada)
    assert staff_client.post(f"/overrides/{override.pk}/end/").status_code == 403


def test_overrides_of_a_day_come_by_athlete_in_one_query(make_athlete, ada, jump, coach, django_assert_num_queries):
    other, third = make_athlete("Bo"), make_athlete("Cy")
    first = standing(ada, begun=5, movement=jump, caution="exposure", made_by=coach)
    second, last_day = standing(ada), standing(other, days=0, begun=5)
    standing(third)
    day = today()
    with django_assert_num_queries(1):
        found = overrides_on([ada.pk, other.pk], day)
        assert found[ada.pk][1].movement.name == "Box jump"
    assert found == {ada.pk: [second, first], other.pk: [last_day]}


def test_a_coach_releases_the_targets_of_a_minor_for_up_to_a_year(coach_client, staff_client, ada):
    year = (today() + timedelta(days=365)).isoformat()
    coach_client.post(
        f"/athletes/{ada.pk}/overrides/", sent(caution="no_target", ends_on=year, reason="Consent kept in the office.")
    )
    assert Override.objects.get().caution == "no_target"
    page = staff_client.get(f"/athletes/{ada.pk}/").content.decode()
    assert "<strong>Targets released</strong>" in page
    assert "Consent kept in the office." in page


def test_in_pregnancy_they_are_released_for_no_longer_than_other_cautions(coach_client, ada):
    Limitation.objects.create(athlete=ada, kind="pregnancy", starts_on=today())
    later = (today() + timedelta(days=60)).isoformat()
    page = coach_client.post(f"/athletes/{ada.pk}/overrides/", sent(caution="no_target", ends_on=later))
    assert "At most 28 days ahead." in page.content.decode()
    assert not Override.objects.exists()


@pytest.mark.parametrize("who", ["minor", "pregnant"])
def test_the_athletes_page_says_that_no_targets_are_made_until_a_coach_releases_them(staff_client, coach, ada, who):
    if who == "minor":
        Athlete.objects.filter(pk=ada.pk).update(born=today() - timedelta(days=17 * 365))
    else:
        Limitation.objects.create(athlete=ada, kind="pregnancy", starts_on=today())
    address = f"/athletes/{ada.pk}/cautions/"
    page = staff_client.get(address).content.decode()
    assert "No automatic targets" in page
    assert "pregnan" not in page
    standing(ada, caution="no_target", made_by=coach)
    assert "No automatic targets" not in staff_client.get(address).content.decode()
