"""Two athletes who take turns at a station."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sessions.scaling.scale import scale
from tests.sessions.scaling.builders import circuit, circuits, engine_option, movement_option, room, rooms


def test_the_times_of_a_circuit():
    plan = circuit(*[movement_option()] * 4, rotations=5, interval=60.0)
    shared = replace(plan, partners=2)
    assert (plan.step_s, plan.rotation_s, plan.duration_s) == (60.0, 240.0, 1200.0)
    assert (shared.step_s, shared.rotation_s, shared.duration_s) == (120.0, 480.0, 2400.0)


@pytest.mark.parametrize("partners", [0, 3, 1.5])
def test_one_or_two_share_a_station(partners):
    with pytest.raises(ValueError, match="choose 1 or 2 partners"):
        replace(circuit(movement_option()), partners=partners).validate()


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_taking_turns_is_a_circuit_of_twice_the_interval_with_the_same_windows(data):
    plan = replace(data.draw(circuits()), partners=1)
    plan = replace(plan, interval_s=min(plan.interval_s, 150.0))
    plan = replace(plan, stations=tuple(replace(s, work_window_s=min(s.work_window_s, 150.0)) for s in plan.stations))
    crowd = data.draw(rooms(plan, limits=True, pins=True))
    shared, slow = scale(replace(plan, partners=2), crowd), scale(replace(plan, interval_s=2 * plan.interval_s), crowd)
    for name in vars(shared):
        np.testing.assert_array_equal(getattr(shared, name), getattr(slow, name), err_msg=name)


def test_the_longer_rest_of_a_partner_leaves_more_to_do():
    plan = circuit(engine_option(dose=40.0), movement_option(dose=40.0), rotations=10)
    people = room(plan)
    assert (scale(replace(plan, partners=2), people).dose > scale(plan, people).dose).all()


def test_the_work_window_must_fit_the_interval_and_not_the_turn():
    with pytest.raises(ValueError, match="longer than the interval"):
        replace(circuit(movement_option(), window=70.0), partners=2).validate()
