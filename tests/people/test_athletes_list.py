import re
from datetime import timedelta

import pytest

from athletes.efforts.write import effort_void
from athletes.gym.read import today
from athletes.models import Athlete


def test_it_lists_who_takes_part_with_the_newest_result(staff_client, make_athlete, row_2000, record):
    ada = make_athlete("Ada Stone")
    record(ada, row_2000, "7:42.3")
    make_athlete("Ben Hill", active=False)
    page = staff_client.get("/athletes/").content.decode()
    assert "Ada Stone" in page
    assert "7:42.3" in page
    assert "Ben Hill" not in page
    assert "Ben Hill" in staff_client.get("/athletes/?show=inactive").content.decode()


def test_voided_results_are_not_the_newest(staff_client, make_athlete, row_2000, record, staff):
    effort_void(effort=record(make_athlete(), row_2000, "7:42.3"), reason="Damper at 10.", by=staff)
    page = staff_client.get("/athletes/?show=untested").content.decode()
    assert "Ada Stone" in page
    assert "7:42.3" not in page


def test_it_finds_by_any_part_of_name_or_board_name(staff_client, make_athlete):
    make_athlete("Ada Stone", board_name="Rocket")
    make_athlete("Ben Hill")
    for query in ("sto", "ROCK", "stone ada"):
        page = staff_client.get("/athletes/", {"q": query}).content.decode()
        assert "Ada Stone" in page
        assert "Ben Hill" not in page


@pytest.mark.parametrize(
    ("query", "sentence"),
    [
        ("", "Add the first athlete"),
        ("?show=untested", "has at least one effort"),
        ("?show=inactive", "Everyone takes part"),
        ("?q=zzz", "Nobody here has such a name"),
        ("?show=nonsense&page=99", "Add the first athlete"),
    ],
)
def test_an_empty_list_says_what_to_do(staff_client, query, sentence):
    assert sentence in staff_client.get(f"/athletes/{query}").content.decode()


def test_queries_do_not_grow_with_athletes(
    staff_client, make_athlete, row_2000, record, django_assert_max_num_queries, gym_row
):
    for number in range(12):
        record(make_athlete(f"Athlete {number}"), row_2000, "7:42.3")
    with django_assert_max_num_queries(9):
        staff_client.get("/athletes/")


def test_a_long_list_has_pages(staff_client):
    Athlete.objects.bulk_create(Athlete(name=f"A {n:03d}", board_name=f"A {n:03d}") for n in range(120))
    page = staff_client.get("/athletes/?q=a").content.decode()
    assert "Page 1 of 2" in page
    assert "q=a&amp;page=2" in page


def test_the_signed_out_are_asked_to_sign_in(client, db):
    assert client.get("/athletes/").status_code == 302


def test_a_null_byte_is_looked_for_like_nothing(staff_client, make_athlete):
    make_athlete()
    assert "Ada Stone" in staff_client.get("/athletes/?q=%00").content.decode()


def names_in(page: bytes) -> list[str]:
    return re.findall(r'<th scope="row"><a [^>]*>([^<]+)</a>', page.decode())


@pytest.fixture
def abroad(make_athlete) -> None:
    for name, board in (
        ("Łukasz Brzezny", "Luk"),
        ("Ingrid Åsheim", "Ingrid"),
        ("Élise Ør", "Zed"),
        ("Ann Zorn", "Ann"),
    ):
        make_athlete(name, board_name=board)


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("lukasz", ["Łukasz Brzezny"]), ("asheim", ["Ingrid Åsheim"]), ("ÅSHEIM ingrid", ["Ingrid Åsheim"]),
        ("Åsheim, Ingrid", ["Ingrid Åsheim"]), ("elise or", ["Élise Ør"]), ("zed", ["Élise Ør"]), ("asheim lukasz", []),
    ],
)  # fmt: skip
def test_search_forgives_accents_case_and_order(staff_client, abroad, query, found):
    assert names_in(staff_client.get("/athletes/", {"q": query}).content) == found


def test_what_is_found_comes_alone_as_someone_types(staff_client, abroad):
    page = staff_client.get("/athletes/", {"q": "luk"}, headers={"HX-Request": "true", "HX-Target": "found"}).content
    assert names_in(page) == ["Łukasz Brzezny"]
    assert b"<html" not in page


def test_the_list_is_sorted_by_its_columns(staff_client, abroad, row_2000, record):
    ann, ingrid = Athlete.objects.get(name="Ann Zorn"), Athlete.objects.get(name="Ingrid Åsheim")
    record(ann, row_2000, "7:42.3", on=today() - timedelta(days=30))
    record(ingrid, row_2000, "7:42.3", on=today() - timedelta(days=3))
    orders = {
        "": ["Ann Zorn", "Élise Ør", "Ingrid Åsheim", "Łukasz Brzezny"],
        "?sort=name&down=1": ["Łukasz Brzezny", "Ingrid Åsheim", "Élise Ør", "Ann Zorn"],
        "?sort=board": ["Ann Zorn", "Ingrid Åsheim", "Łukasz Brzezny", "Élise Ør"],
        "?sort=last": ["Ingrid Åsheim", "Ann Zorn", "Élise Ør", "Łukasz Brzezny"],
        "?sort=last&down=1": ["Ann Zorn", "Ingrid Åsheim", "Élise Ør", "Łukasz Brzezny"],
        "?sort=nonsense": ["Ann Zorn", "Élise Ør", "Ingrid Åsheim", "Łukasz Brzezny"],
    }
    for query, names in orders.items():
        assert names_in(staff_client.get(f"/athletes/{query}").content) == names
    assert 'aria-sort="descending"' in staff_client.get("/athletes/?sort=board&down=1").content.decode()
