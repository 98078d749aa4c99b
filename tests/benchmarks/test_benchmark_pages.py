from datetime import timedelta

import pytest

from athletes.gym.read import today
from athletes.models import Benchmark


def test_it_counts_recent_results_of_active_athletes(staff_client, make_athlete, row_2000, record):
    record(make_athlete("Ada Stone"), row_2000, "7:42.3")
    record(make_athlete("Ben Hill"), row_2000, "7:42.3", on=today() - timedelta(days=400))
    record(make_athlete("Cleo Marsh", active=False), row_2000, "7:42.3")
    page = staff_client.get("/benchmarks/").content.decode()
    assert '1 <span class="unit">of 2</span>' in page
    assert "10 days ago" in page


def test_an_empty_list_says_what_to_do(staff_client, coach_client):
    assert "A coach adds them" in staff_client.get("/benchmarks/").content.decode()
    assert "Two or three that everyone can do" in coach_client.get("/benchmarks/").content.decode()
    assert "No benchmark is archived" in staff_client.get("/benchmarks/?archived").content.decode()


def test_queries_do_not_grow(staff_client, make_athlete, row_movement, record, django_assert_max_num_queries, gym_row):
    for metres in (500, 1000, 2000, 5000):
        benchmark = Benchmark.objects.create(
            name=f"{metres} m", slug=f"m{metres}", movement=row_movement, measure="time_for_distance", fixed=metres
        )
        record(make_athlete(f"Athlete {metres}"), benchmark, f"{metres // 250}:00")
    with django_assert_max_num_queries(6):
        staff_client.get("/benchmarks/")


def test_a_coach_adds_one(coach_client, row_movement):
    sent = {"name": "500 m row", "movement": row_movement.pk, "measure": "time_for_distance", "fixed": "500"}
    response = coach_client.post("/benchmarks/new/", sent, follow=True)
    assert Benchmark.objects.get().slug == "500-m-row"
    assert "500 m row is a benchmark now" in response.content.decode()


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"fixed": ""}, "Say how many m the test is fixed at."),
        ({"measure": "lift", "fixed": ""}, "cannot be measured that way"),
        ({"name": ""}, "This field is required"),
    ],
)
def test_wrong_input_keeps_what_was_typed(coach_client, row_movement, wrong, sentence):
    sent = {"name": "500 m row", "movement": row_movement.pk, "measure": "time_for_distance", "fixed": "500"}
    page = coach_client.post("/benchmarks/new/", {**sent, "instructions": "Damper five", **wrong}).content.decode()
    assert sentence in page
    assert "Damper five" in page
    assert not Benchmark.objects.exists()


def test_what_it_measures_stays_once_there_are_results(coach_client, make_athlete, row_2000, record):
    record(make_athlete(), row_2000, "7:42.3")
    sent = {"name": "Two kilometres", "measure": "distance_in_time", "fixed": "60"}
    coach_client.post(f"/benchmarks/{row_2000.pk}/", sent)
    row_2000.refresh_from_db()
    assert (row_2000.name, row_2000.measure, row_2000.fixed) == ("Two kilometres", "time_for_distance", 2000)


def test_archiving_takes_it_off_the_list(coach_client, row_2000):
    sent = {"name": "2000 m row", "movement": row_2000.movement_id, "measure": row_2000.measure, "fixed": 2000}
    coach_client.post(f"/benchmarks/{row_2000.pk}/", {**sent, "archived": "on"}, follow=True)
    assert "2000 m row" not in coach_client.get("/benchmarks/").content.decode()
    assert "2000 m row" in coach_client.get("/benchmarks/?archived").content.decode()


def test_staff_may_not_change_benchmarks(staff_client, row_2000):
    assert staff_client.post(f"/benchmarks/{row_2000.pk}/", {"name": "x"}).status_code == 403
    assert staff_client.get("/benchmarks/new/").status_code == 403
