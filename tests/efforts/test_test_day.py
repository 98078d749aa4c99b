from uuid import uuid4

import pytest

from athletes.gym.read import today
from athletes.models import Effort


@pytest.fixture
def room(make_athlete):
    return [make_athlete(name) for name in ("Ada Stone", "Ben Hill", "Cleo Marsh")]


@pytest.fixture
def url(row_2000):
    return f"/benchmarks/{row_2000.pk}/test-day/"


def sent(typed: dict, **more) -> dict:
    form = {"performed_on": today().isoformat(), **more}
    for athlete, text in typed.items():
        form |= {f"typed-{athlete.pk}": text, f"key-{athlete.pk}": str(uuid4())}
    return form


def test_one_row_for_each_active_athlete(staff_client, url, room, make_athlete, row_2000, record):
    make_athlete("Gus Hale", active=False)
    record(room[0], row_2000, "7:42.3")
    page = staff_client.get(url).content.decode()
    assert page.count('class="entry-row') == 3
    assert "7:42.3" in page
    assert page.count("first time") == 2
    assert "Gus Hale" not in page


def test_all_rows_at_once(staff_client, url, room):
    response = staff_client.post(url, sent(dict(zip(room, ["7:42.3", "1:58/500", ""], strict=True))), follow=True)
    assert Effort.objects.count() == 2
    assert "2 efforts are kept." in response.content.decode()


def test_a_wrong_row_keeps_what_was_typed_and_the_others_are_kept(staff_client, url, room):
    page = staff_client.post(url, sent(dict(zip(room, ["7:42.3", "seven", "3:20"], strict=True)))).content.decode()
    assert [effort.athlete for effort in Effort.objects.all()] == [room[0]]
    assert "1 effort is kept." in page
    assert "2 rows need a look." in page
    assert 'value="seven"' in page
    assert "“seven” is not understood" in page
    assert "Keep 3:20" in page


def test_sending_it_again_changes_nothing(staff_client, url, room):
    form = sent({room[0]: "7:42.3", room[1]: "nonsense"})
    for _ in range(3):
        staff_client.post(url, form)
    assert Effort.objects.count() == 1


def test_one_row_by_its_own_button(staff_client, url, room):
    form = sent({room[0]: "7:42.3", room[1]: "7:50"}, only=str(room[1].pk))
    page = staff_client.post(url, form).content.decode()
    assert Effort.objects.get().athlete == room[1]
    assert 'value="7:42.3"' in page


def test_one_row_alone_comes_back_alone(staff_client, url, room):
    form = sent({room[0]: "7:42.3"}, only=str(room[0].pk))
    page = staff_client.post(url, form, headers={"HX-Request": "true"}).content.decode()
    assert page.count("<tr") == 1
    assert "is-saved" in page
    assert "Correct it" in page


def test_a_questioned_row_is_kept_when_told_so(staff_client, url, room):
    ada = room[0]
    form = sent({ada: "3:20"}, keep=str(ada.pk), **{f"asked-{ada.pk}": "3:20"})
    staff_client.post(url, form)
    assert Effort.objects.get().question


def test_keeping_does_not_answer_for_a_result_typed_since(staff_client, url, room):
    ada = room[0]
    form = sent({ada: "2:20"}, keep=str(ada.pk), **{f"asked-{ada.pk}": "3:20"})
    assert "Keep 2:20" in staff_client.post(url, form).content.decode()
    assert not Effort.objects.exists()


def test_another_result_under_an_old_key_is_not_lost_silently(staff_client, url, room):
    form = sent({room[0]: "7:42.3"})
    staff_client.post(url, form)
    page = staff_client.post(url, {**form, f"typed-{room[0].pk}": "7:40.0"}).content.decode()
    assert "was kept from this row before" in page
    assert 'value="7:40.0"' in page


def test_an_endless_row_is_cut_and_refused_in_words(staff_client, url, room):
    page = staff_client.post(url, sent({room[0]: "9" * 400, room[1]: "7:42.3"})).content.decode()
    assert "longer than any result" in page
    assert f'value="{"9" * 60}"' in page
    assert Effort.objects.get().athlete == room[1]


def test_a_button_that_names_nobody_is_like_none(staff_client, url, room):
    form = sent({room[0]: "7:42.3"}, only="9" * 5000)
    assert staff_client.post(url, form, headers={"HX-Request": "true"}).status_code == 302


def test_a_day_that_has_not_come_is_refused(staff_client, url, room):
    form = sent({room[0]: "7:42.3"}, performed_on="2100-01-01")
    page = staff_client.post(url, form).content.decode()
    assert "This day has not come yet" in page
    assert 'value="7:42.3"' in page
    alone = staff_client.post(url, {**form, "only": room[0].pk}, headers={"HX-Request": "true"}).content.decode()
    assert "This day has not come yet" in alone
    assert not Effort.objects.exists()


def test_nothing_typed_and_nobody_there_say_what_to_do(staff_client, url, room):
    assert "Nothing was typed" in staff_client.post(url, sent({}), follow=True).content.decode()
    for athlete in room:
        athlete.delete()
    assert "nobody to test" in staff_client.get(url).content.decode()


def test_queries_do_not_grow(staff_client, url, make_athlete, row_2000, record, django_assert_max_num_queries, gym_row):
    for number in range(15):
        record(make_athlete(f"Athlete {number}"), row_2000, "7:42.3")
    with django_assert_max_num_queries(8):
        staff_client.get(url)


def test_the_signed_out_cannot_enter(client, url, room):
    client.post(url, sent({room[0]: "7:42.3"}))
    assert not Effort.objects.exists()
