import numpy as np
import pytest

from tests.retests.one_by_one import change_by_engine, change_by_movement
from tests.sessions.scaling.builders import NOTHING_SHARED, circuit, engine_option, movement_option, room

PLAN = circuit(
    engine_option("row", 300.0, kind="metres", involvement=NOTHING_SHARED[0]),
    movement_option(30.0, seconds=1.0, involvement=NOTHING_SHARED[1]),
)


def test_what_is_unsure_and_binds_changes_what_is_asked():
    sure, unsure = (change_by_engine(PLAN, room(PLAN, engine_sd=sd), "row") for sd in (0.001, 0.15))
    assert unsure[0, 0] > 0.05
    assert sure[0, 0] < 0.01
    assert unsure[0, 1] == 0.0  # other muscles


def test_of_who_does_it_all_as_written_a_test_changes_nothing():
    strong = room(PLAN, engines={"row": (500.0, 40_000.0, 20.0)}, engine_sd=0.05, most=300.0)
    assert (change_by_engine(PLAN, strong, "row") == 0.0).all()
    assert (change_by_movement(PLAN, strong, np.array([[False], [True]])) == 0.0).all()


def test_a_movement_counts_at_the_rungs_where_it_stands():
    here = change_by_movement(PLAN, room(PLAN, most_sd=0.25), np.array([[False], [True]]))
    assert here[0, 1] == pytest.approx(0.25, abs=0.12)
    assert here[0, 0] == 0.0


def test_a_rung_that_may_change_counts_as_a_whole_dose():
    ladder = (movement_option(20.0, seconds=1.0), movement_option(30.0, seconds=1.0))
    plan = circuit(ladder, interval=90.0)
    found = change_by_movement(plan, room(plan, most=np.array([32.0, 60.0]), most_sd=0.3), np.array([[True, False]]))
    assert found[0, 0] >= 0.5


def test_a_paced_movement_counts_too():
    plan = circuit(movement_option(40.0, seconds=1.0, paced=True))
    curve = {"paced_mean": np.log([[[[12.0, 300.0, 10.0]]]]), "paced_cov": 0.02 * np.eye(3)[None, None, None]}
    assert change_by_movement(plan, room(plan, **curve), np.array([[True]]))[0, 0] > 0.03
