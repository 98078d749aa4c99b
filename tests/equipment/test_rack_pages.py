"""Loads that the gym owns."""

import pytest

from athletes.models import Movement, Rack

BAR = {"name": "Bar", "loads": "", "bar_kg": "20", "pairs": "20×2, 2.5 x 1"}


@pytest.fixture
def bells(db) -> Rack:
    return Rack.objects.create(name="Kettlebells", loads=[8, 12, 16])


@pytest.fixture
def squat(bells) -> Movement:
    return Movement.objects.create(name="Goblet squat", slug="goblet-squat", kind="loaded", rack=bells)


def test_a_coach_adds_a_bar_and_reads_what_it_makes(coach_client):
    page = coach_client.post("/gym/loads/new/", BAR, follow=True).content.decode()
    rack = Rack.objects.get()
    assert (rack.bar_kg, rack.pairs, rack.owned()) == (20, [[20, 2], [2.5, 1]], [20, 25, 60, 65, 100, 105])
    assert "Bar 20 kg with pairs of plates 20\xa0×\xa02, 2.5\xa0×\xa01" in page
    assert "20 to 105 kg in 6 loads" in page


def test_pounds_are_kept_in_kilograms(coach_client):
    coach_client.post("/gym/loads/new/", {"name": "Bells", "loads": "35 lb, 53 lb"})
    assert Rack.objects.get().loads == [15.876, 24.04]


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"bar_kg": "", "pairs": ""}, "Give fixed loads, or a bar with its plates."),
        ({"loads": "8", "bar_kg": ""}, "Plates need a bar"),
        ({"bar_kg": "heavy"}, "“heavy” is no load"),
        ({"pairs": "20×2, ten"}, "“ten” is no plate with its pairs."),
        ({"loads": "8, twelve"}, "“twelve” is no load"),
        (
            {"pairs": ", ".join(f"{n / 1000 + 1:.3f}×20" for n in range(1, 20))},
            "make more than 5000 different loads",
        ),
    ],
)
def test_wrong_loads_keep_what_was_typed(coach_client, wrong, sentence):
    page = coach_client.post("/gym/loads/new/", {**BAR, "name": "The long one", **wrong}).content.decode()
    assert sentence in page
    assert "The long one" in page
    assert not Rack.objects.exists()


def test_sending_it_twice_adds_one(coach_client):
    coach_client.post("/gym/loads/new/", BAR)
    assert "Loads of this name are listed already." in coach_client.post("/gym/loads/new/", BAR).content.decode()
    assert Rack.objects.count() == 1


def test_the_form_shows_what_is_kept(coach_client, bells):
    assert 'value="8, 12, 16"' in coach_client.get(f"/gym/loads/{bells.pk}/").content.decode()
    coach_client.post(f"/gym/loads/{bells.pk}/", {"name": "Kettlebells", "loads": "8, 12, 16, 20"})
    bells.refresh_from_db()
    assert bells.loads == [8, 12, 16, 20]


def test_removing_asks_with_the_movements_and_leaves_them_in_steps(coach_client, bells, squat):
    page = coach_client.get(f"/gym/loads/{bells.pk}/").content.decode()
    assert "1 movement goes by them: Goblet squat." in page
    for _ in range(2):  # the second click finds them gone
        page = coach_client.post(f"/gym/loads/{bells.pk}/remove/", follow=True).content.decode()
    squat.refresh_from_db()
    assert squat.rack is None
    assert "off the list already" in page


def test_loads_without_a_movement_are_removed_plainly(coach_client, bells):
    assert "No movement goes by them." in coach_client.get(f"/gym/loads/{bells.pk}/").content.decode()
    page = coach_client.post(f"/gym/loads/{bells.pk}/remove/", follow=True).content.decode()
    assert "Kettlebells: off the list." in page
    assert "steps of 2.5 kg from now on" not in page


def test_an_empty_list_says_what_to_do(staff_client, coach_client):
    assert "A coach adds them." in staff_client.get("/gym/loads/").content.decode()
    assert "Add what stands in the room" in coach_client.get("/gym/loads/").content.decode()


def test_staff_read_and_do_not_change(staff_client, bells, squat):
    page = staff_client.get("/gym/loads/").content.decode()
    assert "8, 12, 16 kg" in page
    assert "Goblet squat" in page
    assert "/gym/loads/new/" not in page
    assert staff_client.get(f"/gym/loads/{bells.pk}/").status_code == 403
    assert staff_client.post(f"/gym/loads/{bells.pk}/remove/").status_code == 403


def test_queries_do_not_grow(staff_client, gym_row, django_assert_max_num_queries):
    for number in range(7):
        rack = Rack.objects.create(name=f"Rack {number}", loads=[8 + number])
        Movement.objects.create(name=f"M {number}", slug=f"m-{number}", kind="loaded", rack=rack)
    with django_assert_max_num_queries(5):
        staff_client.get("/gym/loads/")
