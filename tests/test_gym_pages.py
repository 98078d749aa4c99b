"""Settings and machines."""

import pytest

from athletes.models import Gym, Machine, MachineType

SETTINGS = {
    "name": "Test gym", "time_zone": "Europe/Lisbon", "altitude_m": "640", "class_times": "18.30, 6:00",
    "class_minutes": "75",
    "sure": "0.9", "headroom_test": "0", "headroom_hard": "12", "headroom_steady": "20", "headroom_easy": "40",
    "heat_first_c": "26", "heat_second_c": "28.5", "heat_stop_c": "31",
}  # fmt: skip


@pytest.fixture
def rowers(db) -> MachineType:
    return MachineType.objects.create(name="rowing ergometer", engine="row")


def test_the_owner_keeps_settings_in_percent_and_times(owner_client, db):
    page = owner_client.post("/gym/", SETTINGS, follow=True).content.decode()
    gym = Gym.objects.get()
    assert gym.headrooms == {"test": 0.0, "hard": 0.12, "steady": 0.2, "easy": 0.4}
    assert (gym.class_times, gym.class_minutes) == (["06:00", "18:30"], 75)
    assert (gym.heat_first_c, gym.heat_second_c, gym.heat_stop_c) == (26, 28.5, 31)
    assert 'value="20"' in page
    assert 'value="06:00, 18:30"' in page


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"class_times": "6:00, noon"}, "“noon” is no time of day"),
        ({"headroom_hard": "80"}, "to 60"),
        ({"headroom_steady": "5"}, "An easier day leaves more in the tank"),
        ({"time_zone": "Mars/Olympus"}, "Select a valid choice"),
        ({"altitude_m": "99999"}, "less than or equal to 5500"),
        ({"heat_second_c": "25"}, "The three limits of heat rise"),
        ({"heat_stop_c": ""}, "This field is required"),
    ],
)
def test_wrong_settings_keep_what_was_typed(owner_client, gym_row, wrong, sentence):
    page = owner_client.post("/gym/", {**SETTINGS, "local_rules": "Call the desk", **wrong}).content.decode()
    assert sentence in page
    assert "Call the desk" in page
    gym_row.refresh_from_db()
    assert gym_row.headroom_hard == 0.10


def test_settings_are_the_owners(coach_client, gym_row):
    assert coach_client.get("/gym/").status_code == 403
    assert "/gym/machines/" in coach_client.get("/athletes/").content.decode()


def test_the_owner_adds_a_type_and_numbers(owner_client):
    sent = {"name": "fan bike", "engine": "bike", "kcal_base": "0", "kcal_slope": "3.6"}
    response = owner_client.post("/gym/machines/", sent)
    bikes = MachineType.objects.get()
    assert response.headers["Location"] == f"/gym/machines/{bikes.pk}/"
    for number in ("1", "2"):
        owner_client.post(f"/gym/machines/{bikes.pk}/", {"add": number})
    assert list(bikes.machines.values_list("number", flat=True)) == [1, 2]


def test_adding_a_number_twice_adds_one_and_leaves_none_out(owner_client, rowers):
    url = f"/gym/machines/{rowers.pk}/"
    assert "Add number 1" in owner_client.get(url).content.decode()
    for number in ("1", "1", "7"):
        owner_client.post(url, {"add": number})
    assert list(rowers.machines.values_list("number", flat=True)) == [1, 2]


def test_a_machine_goes_off_the_floor_and_back(owner_client, rowers):
    machine = Machine.objects.create(type=rowers, number=1)
    for wanted, active in (("take_off", False), ("take_off", False), ("put_back", True)):
        owner_client.post(f"/gym/machines/{rowers.pk}/", {wanted: machine.pk})
        machine.refresh_from_db()
        assert machine.active is active


def test_a_taken_name_keeps_what_was_typed(owner_client, rowers):
    sent = {"name": "rowing ergometer", "engine": "row", "kcal_base": "300", "kcal_slope": "3.44"}
    page = owner_client.post("/gym/machines/", {**sent, "setting_advice": "Damper at five"}).content.decode()
    assert "already exists" in page
    assert "Damper at five" in page


def test_staff_look_but_do_not_change(staff_client, rowers):
    Machine.objects.create(type=rowers, number=1, active=False)
    page = staff_client.get("/gym/machines/").content.decode()
    assert "off the floor" in page
    assert "Add a type" not in page
    assert staff_client.post(f"/gym/machines/{rowers.pk}/", {"add": "1"}).status_code == 403


def test_queries_of_machines_do_not_grow(staff_client, django_assert_max_num_queries, gym_row):
    for number in range(6):
        type = MachineType.objects.create(name=f"type {number}")
        Machine.objects.create(type=type, number=1)
    with django_assert_max_num_queries(5):
        staff_client.get("/gym/machines/")


def test_a_type_keeps_its_engine_while_movements_go_by_it(owner_client, rowers, row_movement):
    row_movement.machine_type = rowers
    row_movement.save()
    sent = {"name": "rowing ergometer", "engine": "bike", "kcal_base": "300", "kcal_slope": "3.44"}
    assert "have another engine" in owner_client.post(f"/gym/machines/{rowers.pk}/", sent).content.decode()
