import pytest

from athletes.links.write import link_issue
from athletes.models import Limitation


@pytest.fixture
def ada(make_athlete):
    return make_athlete(body_mass_kg=71.5, note="Likes mornings")


def test_without_results_it_says_what_to_do(staff_client, ada):
    page = staff_client.get(f"/athletes/{ada.pk}/").content.decode()
    assert "No effort yet" in page
    assert "No link is in use" in page


def test_it_shows_best_latest_and_private_facts(staff_client, ada, row_2000, record):
    record(ada, row_2000, "7:42.3")
    page = staff_client.get(f"/athletes/{ada.pk}/").content.decode()
    for text in ("7:42.3", "71.5", "Likes mornings", "typed “7:42.3”"):
        assert text in page


def test_figures_are_for_coaches(staff_client, coach_client, ada, row_2000, record):
    record(ada, row_2000, "7:42.3")
    assert "CP" not in staff_client.get(f"/athletes/{ada.pk}/").content.decode()
    assert "CP" in coach_client.get(f"/athletes/{ada.pk}/").content.decode()


def test_the_link_is_shown_as_code_and_address(staff_client, ada, settings):
    settings.SITE_URL = "https://gym.example"
    link = link_issue(athlete=ada, by=None)
    page = staff_client.get(f"/athletes/{ada.pk}/").content.decode()
    assert f"https://gym.example/a/{link.token}/" in page
    assert "<svg" in page
    assert "style=" not in page


def test_limitations_show_what_is_out(staff_client, ada, pull_ups):
    limitation = Limitation.objects.create(athlete=ada, kind="body", patterns=["whole_body"], starts_on="2026-01-01")
    limitation.movements.add(pull_ups.movement)
    page = staff_client.get(f"/athletes/{ada.pk}/").content.decode()
    assert "Out: whole body; Pull-up" in page
    assert "until someone ends it" in page


def test_queries_do_not_grow_with_results(
    staff_client, ada, row_2000, pull_ups, record, django_assert_max_num_queries, gym_row
):
    link_issue(athlete=ada, by=None)
    for number in range(8):
        record(ada, row_2000, f"7:4{number}.0")
        record(ada, pull_ups, f"{10 + number}")
    with django_assert_max_num_queries(22):
        staff_client.get(f"/athletes/{ada.pk}/")


def test_nobody_else_sees_it(client, ada):
    assert client.get(f"/athletes/{ada.pk}/").status_code == 302
    assert client.get("/athletes/999/").status_code == 302
