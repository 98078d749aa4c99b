"""Levers and drag factors on the page of a type of machine."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from athletes.capacity.air import density_isa
from athletes.gym.read import today
from athletes.models import AirReading, LeverReading, Machine, MachineType


@pytest.fixture
def rowers(gym_row) -> MachineType:
    return MachineType.objects.create(name="Rowing ergometer", engine="row", lever_most=10)


@pytest.fixture
def rower(rowers) -> Machine:
    return Machine.objects.create(type=rowers, number=1)


def sent(read: Machine, **more) -> dict:
    reading = {"machine": read.pk, "lever": "5", "drag": "118", "taken_on": today().isoformat()}
    return {**reading, "key": str(uuid4()), **more}


def read(machine: Machine, lever: float, drag: float, days: int = 0, density: float | None = None) -> LeverReading:
    density = density or float(density_isa(640))
    day = today() - timedelta(days=days)
    return LeverReading.objects.create(machine=machine, lever=lever, drag=drag, density=density, taken_on=day)


def test_a_machine_without_readings_says_how_to_take_one(staff_client, rower, rowers):
    page = staff_client.get(f"/gym/machines/{rowers.pk}/").content.decode()
    assert "Set the lever to 1 and work easily until the monitor shows a drag factor that stays" in page
    assert "and at 10." in page


def test_staff_add_a_reading_and_go_on_with_the_same_machine(staff_client, staff, rower, rowers):
    other = Machine.objects.create(type=rowers, number=2)
    answer = staff_client.post(f"/gym/machines/{rowers.pk}/readings/", sent(other), follow=True)
    reading = LeverReading.objects.get()
    assert (reading.machine, reading.lever, reading.drag, reading.entered_by) == (other, 5, 118, staff)
    page = answer.content.decode()
    assert "Rowing ergometer 2, lever 5: 118 is kept." in page
    assert f'<option value="{other.pk}" selected>number 2</option>' in page


def test_sending_it_twice_keeps_one(staff_client, rower, rowers):
    form = sent(rower)
    for _ in range(2):
        assert staff_client.post(f"/gym/machines/{rowers.pk}/readings/", form).status_code == 302
    assert LeverReading.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"lever": "11"}, "The lever runs from 1 to 10 here."),
        ({"drag": "1180"}, "less than or equal to 300"),
        ({"taken_on": "2999-01-01"}, "This day has not come yet."),
        ({"machine": "0"}, "Select a valid choice"),
    ],
)
def test_a_wrong_one_keeps_what_was_typed(owner_client, rower, rowers, wrong, sentence):
    page = owner_client.post(f"/gym/machines/{rowers.pk}/readings/", sent(rower, **wrong)).content.decode()
    assert sentence in page
    assert f'name="lever" value="{wrong.get("lever", "5")}"' in page
    assert not LeverReading.objects.exists()


def test_todays_drag_is_that_of_todays_air(staff_client, rower, rowers):
    read(rower, 1, 90, days=40)
    read(rower, 1, 84, days=1)  # the newest of a lever is shown
    read(rower, 10, 170, density=float(density_isa(0)))
    page = staff_client.get(f"/gym/machines/{rowers.pk}/").content.decode()
    assert '<th scope="row">1</th><td class="num">84</td>' in page
    assert '<th scope="row">10</th><td class="num">160</td>' in page  # 170 × 1.1515 / 1.225
    assert "90" in page  # under all readings


def test_what_was_read_today_stands_there_as_it_was_read(staff_client, rower, rowers):
    AirReading.objects.create(taken_at=timezone.now() - timedelta(days=3), temperature_c=27)
    staff_client.post(f"/gym/machines/{rowers.pk}/readings/", sent(rower, drag="131"))
    page = staff_client.get(f"/gym/machines/{rowers.pk}/").content.decode()
    assert '<th scope="row">5</th><td class="num">131</td>' in page
    assert "One lever says little of the others." in page


def test_a_drag_factor_asked_for_gives_the_lever_of_each_machine(staff_client, rower, rowers):
    for lever, drag in ((1, 80), (5, 120), (10, 180)):
        read(rower, lever, drag)
    one = Machine.objects.create(type=rowers, number=2)
    read(one, 5, 100)
    page = staff_client.get(f"/gym/machines/{rowers.pk}/?drag=120").content.decode()
    assert "Drag factor 120: <strong>lever 5</strong>" in page
    assert "only one lever was read" in page
    wrong = staff_client.get(f"/gym/machines/{rowers.pk}/?drag=12").content.decode()
    assert "greater than or equal to 40" in wrong
    assert "Drag factor 12:" not in wrong


def test_a_wrong_reading_is_removed_and_the_second_click_finds_it_gone(staff_client, rower, rowers):
    reading = read(rower, 5, 118)
    for page in (f"/gym/machines/{rowers.pk}/", "/gym/machines/"):
        answer = staff_client.post(f"/gym/readings/{reading.pk}/remove/")
        assert (answer.status_code, answer.headers["Location"]) == (302, page)
    assert not LeverReading.objects.exists()


def test_the_owner_says_how_far_levers_run_and_staff_do_not(owner_client, staff_client, rower, rowers):
    url = f"/gym/machines/{rowers.pk}/"
    facts = {"name": "Rowing ergometer", "engine": "row", "lever_most": "8", "kcal_base": "300", "kcal_slope": "3.4416"}
    assert staff_client.post(url, facts).status_code == 403
    owner_client.post(url, facts)
    rowers.refresh_from_db()
    assert rowers.lever_most == 8


def test_a_type_without_a_lever_shows_none(owner_client, rower, rowers):
    MachineType.objects.update(lever_most=None)
    assert "drag factor" not in owner_client.get(f"/gym/machines/{rowers.pk}/").content.decode().lower()


def test_queries_do_not_grow_with_machines_and_readings(staff_client, staff, rowers, django_assert_max_num_queries):
    for number in range(1, 6):
        machine = Machine.objects.create(type=rowers, number=number)
        for lever in (1, 4, 7, 10):
            read(machine, lever, 70 + 10 * lever)
    LeverReading.objects.update(entered_by=staff)
    with django_assert_max_num_queries(12):
        staff_client.get(f"/gym/machines/{rowers.pk}/?drag=115")
