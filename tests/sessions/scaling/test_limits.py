"""What may be asked of an athlete: shares of the prescription, exposure, the way back after a break."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sessions.scaling.scale import scale
from sessions.scaling.targets import Bound, Swap
from tests.sessions.scaling.builders import (
    NOTHING_SHARED,
    circuit,
    circuits,
    engine_option,
    movement_option,
    room,
    rooms,
)

FREE = np.inf


def limited(plan, **limits):
    limits = {name: np.asarray(value, float) for name, value in limits.items()}
    return scale(plan, replace(room(plan, n=next(iter(limits.values())).shape[0], most=200.0), **limits))


# --- Exposure ---


def test_no_more_in_a_round_than_may_be_asked():
    plan = circuit(movement_option(dose=10.0), engine_option(dose=8.0))
    targets = limited(plan, most_dose=[[[4.6], [FREE]], [[10.0], [7.0]]])
    assert targets.dose.tolist() == [[4.0, 8.0], [10.0, 7.0]]
    assert targets.bound.tolist() == [[Bound.EXPOSURE, Bound.PRESCRIPTION], [Bound.PRESCRIPTION, Bound.EXPOSURE]]
    assert (targets.wanted_dose == [10.0, 8.0]).all()


def test_the_tighter_of_share_and_exposure_is_named():
    plan = circuit(movement_option(dose=10.0))
    targets = limited(plan, share=[[[0.7]]] * 2, most_dose=[[[4.0]], [[8.0]]])
    assert targets.dose.tolist() == [[4.0], [7.0]]
    assert targets.bound.tolist() == [[Bound.EXPOSURE], [Bound.SAFETY]]


def test_a_little_of_a_movement_keeps_it_and_less_than_one_leaves_it():
    plan = circuit((movement_option(dose=10.0, least=5.0), movement_option(dose=10.0, least=5.0)))
    targets = limited(plan, most_dose=[[[3.0, FREE]], [[0.9, FREE]], [[0.9, 0.0]]])
    assert targets.rung.tolist() == [[0], [1], [-1]]
    assert targets.dose.tolist() == [[3.0], [10.0], [0.0]]
    assert targets.swap.tolist() == [[Swap.NONE], [Swap.TOO_LITTLE], [Swap.TOO_LITTLE]]


def test_what_one_station_may_not_ask_is_free_for_another():
    plan = circuit(movement_option(dose=20.0), movement_option(dose=20.0), rotations=8)
    people = replace(room(plan, n=2, most=40.0), most_dose=np.array([[[FREE], [FREE]], [[2.0], [FREE]]]))
    targets = scale(plan, people)
    assert 0.0 < targets.dose[1, 0] <= 2.0
    assert targets.dose[1, 1] > targets.dose[0, 1]


# --- The way back after a break ---


@pytest.mark.parametrize(("ramp", "doses"), [(0.5, [4.0, 75.0, 1.0]), (0.7, [6.0, 105.0, 1.0]), (0.0, [1.0, 5.0, 1.0])])
def test_the_way_back_takes_whole_steps_and_leaves_one(ramp, doses):
    options = (movement_option(dose=9.0), engine_option("run", dose=150.0), movement_option(dose=1.0))
    plan = circuit(*(replace(option, involvement=NOTHING_SHARED[s]) for s, option in enumerate(options)), rotations=1)
    targets = limited(plan, ramp=[ramp])
    assert targets.dose.tolist() == [doses]
    assert targets.bound.tolist() == [[Bound.RETURN, Bound.RETURN, Bound.PRESCRIPTION]]


def test_the_way_back_is_of_the_dose_that_the_method_gives_and_swaps_nothing():
    plan = circuit((movement_option(dose=30.0, least=8.0), movement_option(dose=5.0)), rotations=3)
    people = room(plan, n=2, most=25.0)
    whole, back = scale(plan, people), scale(plan, replace(people, ramp=np.array([0.5, 1.0])))
    assert whole.bound[0] == Bound.OWN
    assert back.dose.tolist() == [[np.floor(whole.dose[0, 0] / 2)], [whole.dose[1, 0]]]
    assert (back.rung == 0).all()  # although half is less than the least useful dose
    assert back.bound.tolist() == [[Bound.RETURN], [Bound.OWN]]
    assert back.headroom[0] > whole.headroom[0]
    assert back.probability[0] > whole.probability[0]


def test_who_gives_way_to_another_station_after_a_break_is_told_of_the_break():
    plan = circuit(movement_option(), movement_option())
    targets = scale(plan, replace(room(plan, most=22.0), ramp=np.array([0.5])))
    assert targets.bound.tolist() == [[Bound.RETURN] * 2]
    assert targets.bound_by.tolist() == [[-1, -1]]


# --- Any circuit and room ---


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_no_limit_is_broken(data):
    plan = data.draw(circuits())
    crowd = data.draw(rooms(plan, limits=True))
    targets = scale(plan, crowd)
    free = scale(plan, replace(crowd, ramp=None))
    done = targets.rung >= 0
    at = np.maximum(targets.rung, 0)[..., None]
    most = np.take_along_axis(crowd.most_dose, at, -1)[..., 0]
    share = np.take_along_axis(crowd.share, at, -1)[..., 0]
    assert (targets.dose <= np.minimum(most, share * targets.wanted_dose) + 1e-4).all()
    assert (targets.rung == free.rung).all()
    part = np.maximum(free.dose * crowd.ramp[:, None], np.where(np.isin(free.dose % 5.0, 0.0), 5.0, 1.0))
    assert (targets.dose <= np.minimum(free.dose, part) + 1e-4).all()
    assert (targets.dose[done] >= 1.0).all()
    lowered = targets.dose < free.dose
    assert ((targets.bound == Bound.RETURN) == lowered).all()
    assert (targets.headroom >= free.headroom - 1e-12).all()


@settings(max_examples=50, deadline=None)
@given(st.data())
def test_no_limit_at_all_changes_nothing(data):
    plan = data.draw(circuits())
    crowd = data.draw(rooms(plan))
    shape = crowd.allowed.shape
    whole = replace(crowd, share=np.ones(shape), most_dose=np.full(shape, FREE), ramp=np.ones(shape[0]))
    for name in ("rung", "dose", "bound", "bound_by", "headroom", "probability"):
        assert (getattr(scale(plan, whole), name) == getattr(scale(plan, crowd), name)).all()


@pytest.mark.parametrize(
    ("limits", "sentence"),
    [
        ({"most_dose": [[[-1.0]]]}, "most that may be asked must lie between 0 and inf"),
        ({"most_dose": [[[np.nan]]]}, "may not be missing"),
        ({"share": [[[1.2]]]}, "share of the prescription must lie between 0 and 1"),
        ({"ramp": [1.5]}, "after a break must lie between 0 and 1"),
        ({"ramp": [np.nan]}, "may not be missing"),
        ({"ramp": [[1.0]]}, "must have the shape"),
        ({"most_dose": [[1.0]]}, "athletes, stations and rungs"),
    ],
)
def test_limits_that_make_no_sense_are_refused(limits, sentence):
    with pytest.raises(ValueError, match=sentence):
        limited(circuit(movement_option()), **limits)
