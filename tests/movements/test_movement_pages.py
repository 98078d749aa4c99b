import numpy as np
import pytest

from athletes import sending
from athletes.estimates.library import involvement_of
from athletes.estimates.observations import reduced
from athletes.estimates.people import known_of
from athletes.estimates.write import estimates_refresh
from athletes.models import Benchmark, Estimate, MachineType, Movement, Rack
from tests import gym

FACTS = {
    "name": "Ring row", "kind": "repetitions", "engine": "", "machine_type": "", "setup_s": "3",
    "seconds_per_repetition": "2", "typical_best": "15", "typical_spread": "0.5", "loads_pull": "0.8",
}  # fmt: skip


def test_it_lists_movements_with_their_cues(staff_client, row_movement):
    Movement.objects.filter(pk=row_movement.pk).update(cue_drive="Legs, then arms.")
    page = staff_client.get("/movements/").content.decode()
    assert "Row" in page
    assert "Drive" in page


def test_an_empty_list_says_what_to_do(staff_client, coach_client):
    assert "A coach adds them" in staff_client.get("/movements/").content.decode()
    assert "starter library has the usual ones" in coach_client.get("/movements/").content.decode()


def test_a_coach_adds_one(coach_client):
    coach_client.post("/movements/new/", FACTS)
    movement = Movement.objects.get()
    assert (movement.slug, movement.involvement) == ("ring-row", {"pull": 0.8})


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"kind": "engine"}, "Say which engine drives it."),
        ({"engine": "row"}, "Only machines and runs have an engine."),
        ({"loads_pull": "3"}, "less than or equal to 1"),
        ({"name": ""}, "This field is required"),
    ],
)
def test_wrong_input_keeps_what_was_typed(coach_client, wrong, sentence):
    page = coach_client.post("/movements/new/", {**FACTS, "look_for": "Hips drop", **wrong}).content.decode()
    assert sentence in page
    assert "Hips drop" in page
    assert not Movement.objects.exists()


@pytest.mark.parametrize("wrong", [{"kind": "hold", "engine": ""}, {"engine": "ski"}])
def test_what_drives_it_stays_once_a_benchmark_rests_on_it(coach_client, row_2000, wrong):
    facts = {**FACTS, "name": "Row", "kind": "engine", "engine": "row"}
    page = coach_client.post(f"/movements/{row_2000.movement_id}/", {**facts, **wrong}).content.decode()
    assert "Make a new movement instead." in page
    row_2000.movement.refresh_from_db()
    assert (row_2000.movement.kind, row_2000.movement.engine) == ("engine", "row")


def test_what_drives_it_stays_once_a_circuit_rests_on_it(coach_client, furnished):
    gym.circuit()
    movement = Movement.objects.get(slug="ring-row")
    page = coach_client.post(f"/movements/{movement.pk}/", {**FACTS, "kind": "hold"}).content.decode()
    assert "Make a new movement instead." in page


def test_what_nothing_rests_on_may_become_something_else(coach_client, row_movement):
    coach_client.post(f"/movements/{row_movement.pk}/", {**FACTS, "name": "Row", "kind": "hold"})
    row_movement.refresh_from_db()
    assert (row_movement.kind, row_movement.engine) == ("hold", "")


def test_it_does_not_go_by_a_machine_with_another_engine(coach_client):
    bike = MachineType.objects.create(name="fan bike", engine="bike")
    facts = {**FACTS, "kind": "engine", "engine": "row", "machine_type": bike.pk}
    assert "fan bike has another engine" in coach_client.post("/movements/new/", facts).content.decode()


def test_staff_change_the_cues_and_nothing_else(staff_client, row_movement):
    page = staff_client.get(f"/movements/{row_movement.pk}/").content.decode()
    assert "Typical best" not in page
    staff_client.post(f"/movements/{row_movement.pk}/", {**FACTS, "cue_drive": "Legs first.", "typical_best": "99"})
    row_movement.refresh_from_db()
    assert (row_movement.name, row_movement.cue_drive, row_movement.typical_best) == ("Row", "Legs first.", 20)


def test_two_of_nearly_the_same_name_get_their_own_slugs(coach_client):
    for name in ("Ring row", "Ring-row"):
        coach_client.post("/movements/new/", {**FACTS, "name": name})
    assert set(Movement.objects.values_list("slug", flat=True)) == {"ring-row", "ring-row-2"}


def test_loads_and_the_introductory_amount_are_kept(coach_client):
    bells = Rack.objects.create(name="Kettlebells", loads=[8, 12, 16])
    facts = {**FACTS, "kind": "loaded", "rack": bells.pk, "high_eccentric": "on", "introductory": "12"}
    coach_client.post("/movements/new/", facts)
    movement = Movement.objects.get()
    assert (movement.rack, movement.introductory) == (bells, 12)


def test_an_introductory_amount_left_empty_stays(coach_client, row_movement):
    Movement.objects.update(introductory=12)
    coach_client.post(f"/movements/{row_movement.pk}/", {**FACTS, "name": "Row", "introductory": ""})
    assert Movement.objects.get().introductory == 12


def test_staff_may_not_add(staff_client):
    assert staff_client.post("/movements/new/", FACTS).status_code == 403


def test_queries_do_not_grow(staff_client, django_assert_max_num_queries, gym_row):
    for number in range(9):
        Movement.objects.create(name=f"M {number}", slug=f"m-{number}", kind="hold")
    with django_assert_max_num_queries(4):
        staff_client.get("/movements/")


# ---- paced or not ----


@pytest.fixture
def sent(monkeypatch) -> list:
    found = []
    monkeypatch.setattr(sending.current_app, "send_task", lambda name, arguments: found.append(name))
    return found


@pytest.mark.parametrize(
    ("change", "tasks"),
    [({"paced": "on"}, 1), ({"typical_best": "30"}, 1), ({"cue_drive": "Legs first."}, 0), ({"needs_skill": "on"}, 0)],
)
def test_what_estimates_rest_on_has_them_made_anew(
    coach_client, pull_ups, sent, change, tasks, django_capture_on_commit_callbacks
):
    Movement.objects.update(name="Ring row", setup_s=3, typical_best=15, involvement={"pull": 0.8})
    with django_capture_on_commit_callbacks(execute=True):
        coach_client.post(f"/movements/{pull_ups.movement_id}/", {**FACTS, **change})
    assert sent == ["athletes.estimates_refresh"] * tasks


def test_what_is_stored_of_another_kind_of_number_gives_way_to_the_first_guess(furnished):
    athletes = [athlete.pk for athlete in gym.people(3)]
    movement = Movement.objects.get(slug="pull-up")
    weights = involvement_of(movement)
    movement.paced = True
    curve, covariance = known_of(athletes).paced(movement, weights)  # one number each is stored
    assert curve.shape == (3, 3)
    assert (curve[:, 0] < np.log(100)).all()
    assert (curve[:, 1] != curve[:, 0]).all()
    assert (np.linalg.eigvalsh(covariance) > 0).all()
    movement.save()
    estimates_refresh()
    assert {len(mean) for mean in Estimate.objects.filter(movement=movement).values_list("mean", flat=True)} == {3}
    movement.paced = False  # as a circuit that was frozen before has it
    mean, _ = known_of(athletes).movement(movement, weights)
    Estimate.objects.all().delete()
    first_guess, _ = known_of(athletes).movement(movement, weights)
    assert mean.tolist() == first_guess.tolist()


def test_a_movement_whose_pace_is_tested_stays_paced(coach_client, db):
    burpee = Movement.objects.create(name="Burpee", slug="burpee", kind="repetitions", paced=True)
    timed = Benchmark.objects.create(
        name="100 burpees", slug="b", movement=burpee, measure="time_for_repetitions", fixed=100
    )
    page = coach_client.post(f"/movements/{burpee.pk}/", {**FACTS, "name": "Burpee"}).content.decode()
    assert "Its pace is tested (100 burpees). Leave this ticked" in page
    assert Movement.objects.get().paced
    burpee.paced = False
    timed.movement = burpee
    with pytest.raises(ValueError, match="is not paced"):
        reduced(timed, 480)
