"""Targets set by hand."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sessions.scaling.allocate import load_of
from sessions.scaling.constants import REST
from sessions.scaling.pins import share_around
from sessions.scaling.room import NO_PIN
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
from tests.sessions.scaling.test_allocate import SEEDS, instances


def pinned(plan, rung, dose, n=1, most=22.0, **limits):
    """Targets with the same pins (S,) for everyone."""
    shape = (n, len(plan.stations))
    pins = {"pinned_rung": np.broadcast_to(rung, shape), "pinned_dose": np.broadcast_to(np.asarray(dose, float), shape)}
    return scale(plan, replace(room(plan, n=n, most=most), **pins, **limits))


def test_it_stands_as_it_was_set_above_the_prescription_and_below():
    plan = circuit(engine_option(dose=8.0), movement_option(dose=10.0, involvement=NOTHING_SHARED[1]), rotations=2)
    for doses in ([11.0, 3.5], [2.0, 10.0]):
        targets = pinned(plan, [0, 0], doses)
        assert targets.dose.tolist() == [doses]
        assert (targets.bound == Bound.PINNED).all()
        assert (targets.wanted_dose == [8.0, 10.0]).all()


def test_nothing_else_lowers_it():
    plan = circuit(movement_option(dose=10.0))
    limits = {"share": np.full((1, 1, 1), 0.5), "most_dose": np.full((1, 1, 1), 3.0), "ramp": np.array([0.5])}
    targets = pinned(plan, [0], [9.0], **limits)
    assert (targets.dose, targets.bound) == (9.0, Bound.PINNED)


def test_another_rung_or_rest_set_by_hand_is_no_swap():
    ladder = (movement_option(dose=10.0), movement_option(dose=12.0))
    targets = pinned(circuit(ladder, ladder), [1, REST], [7.0, 0.0])
    assert targets.rung.tolist() == [[1, REST]]
    assert targets.dose.tolist() == [[7.0, 0.0]]
    assert (targets.bound == Bound.PINNED).all()
    assert (targets.swap == Swap.NONE).all()
    assert (targets.headroom[0, 1], targets.probability[0, 1], targets.done_by_s[0, 1]) == (1.0, 1.0, 0.0)


def test_too_much_is_predicted_as_what_it_is():
    targets = pinned(circuit(movement_option(dose=10.0)), [0], [30.0])
    assert targets.headroom == pytest.approx(1.0 - targets.demand[0, 0, 0] * 30.0 / 22.0)
    assert targets.headroom < 0.0
    assert targets.probability < 0.01


def test_the_others_share_what_it_leaves():
    plan = circuit(movement_option(), movement_option(dose=15.0), movement_option(involvement=NOTHING_SHARED[3]))
    free = pinned(plan, [NO_PIN] * 3, [0.0] * 3)
    by_dose = [pinned(plan, [0, NO_PIN, NO_PIN], [dose, 0.0, 0.0]) for dose in (1.0, 25.0, 40.0)]
    doses = [targets.dose[0, 1] for targets in by_dose]
    assert doses[0] > free.dose[0, 1] > doses[1] > doses[2] > 0.0
    assert (by_dose[2].bound[0, 1], by_dose[2].bound_by[0, 1]) == (Bound.OTHER_STATION, 0)
    assert all(targets.dose[0, 2] == free.dose[0, 2] for targets in by_dose)


def test_a_little_more_by_hand_takes_headroom_there_and_leaves_the_others_their_work():
    plan = circuit(movement_option(), movement_option(), rotations=5)
    free, more = pinned(plan, [NO_PIN] * 2, [0.0] * 2), pinned(plan, [0, NO_PIN], [10.0, 0.0])
    assert free.dose.tolist() == [[7.0, 7.0]]
    assert more.dose.tolist() == [[10.0, 7.0]]
    assert more.headroom[0, 0] < plan.headroom < more.headroom[0, 1]


def test_where_it_uses_up_everything_the_others_go_down_the_ladder_or_rest():
    easier = movement_option(dose=10.0, involvement=NOTHING_SHARED[3])
    plan = circuit(movement_option(), (movement_option(), easier), movement_option(), rotations=5)
    targets = pinned(plan, [0, NO_PIN, NO_PIN], [90.0, 0.0, 0.0])
    assert targets.rung.tolist() == [[0, 1, REST]]
    assert targets.bound[0, 2] == Bound.REST
    assert targets.swap.tolist() == [[Swap.NONE, Swap.TOO_LITTLE, Swap.TOO_LITTLE]]
    assert targets.headroom[0, 0] < 0.0


def test_an_engine_beside_it_keeps_what_costs_nothing():
    plan = circuit(movement_option(involvement=(1.0,) * 7), engine_option(dose=30.0), rotations=5)
    targets = pinned(plan, [0, NO_PIN], [200.0, 0.0])
    assert 0.0 < targets.dose[0, 1] < 30.0
    assert targets.hold[0, 1] <= 200.0  # the critical power


def test_what_is_forbidden_can_be_set_by_hand_by_who_knows():
    plan = circuit((movement_option(), movement_option()))
    people = room(plan, allowed=np.array([[[False, True]]]))
    targets = scale(plan, replace(people, pinned_rung=np.array([[0]]), pinned_dose=np.array([[5.0]])))
    assert (targets.rung, targets.dose, targets.swap) == (0, 5.0, Swap.NONE)


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_pins_stand_and_everything_else_is_sound(data):
    plan = data.draw(circuits())
    crowd = data.draw(rooms(plan, limits=True, pins=True))
    targets = scale(plan, crowd)
    pins = crowd.pinned
    assert (targets.rung[pins] == crowd.pinned_rung[pins]).all()
    assert (targets.dose[pins] == crowd.pinned_dose[pins]).all()
    assert ((targets.bound == Bound.PINNED) == pins).all()
    assert (targets.dose[~pins] <= targets.wanted_dose[~pins] + 1e-4).all()
    assert ((targets.dose == 0.0) == (targets.rung == REST)).all()
    for name in ("dose", "wanted_dose", "own_cap_dose", "share", "done_by_s", "headroom", "probability", "sd_log"):
        assert np.isfinite(getattr(targets, name)).all(), name


@given(SEEDS, st.floats(1.0, 3.0))
def test_more_by_hand_never_raises_the_least_share_of_the_others(seed, factor):
    # Only the least, as without pins: a station that stops earlier may leave more to another.
    demand, capped = instances(seed)
    rng = np.random.default_rng(seed)
    pinned = rng.random(capped.shape) < 0.4
    by_hand = np.where(pinned, rng.uniform(0.0, 1.0, capped.shape), 0.0)
    demand, limit = demand.transpose(1, 2, 0), np.full(capped.T.shape, 0.85)
    share, _, left = share_around(demand, capped.T, by_hand.T, pinned.T, limit)
    more = share_around(demand, capped.T, factor * by_hand.T, pinned.T, limit)[0]
    assert (more.min(0) <= share.min(0) + 1e-9).all()
    assert (load_of(demand, share * (capped * ~pinned).T) <= np.maximum(left, 0.0) + 1e-9).all()


@settings(max_examples=100, deadline=None)
@given(st.data())
def test_who_has_no_pin_is_not_touched_by_those_of_others(data):
    plan = data.draw(circuits())
    crowd = data.draw(rooms(plan, pins=True))
    targets, free = scale(plan, crowd), scale(plan, replace(crowd, pinned_rung=None, pinned_dose=None))
    without = ~crowd.pinned.any(-1)
    for name in ("rung", "dose", "bound", "headroom", "probability"):
        assert (getattr(targets, name)[without] == getattr(free, name)[without]).all()


@pytest.mark.parametrize(
    ("rung", "dose", "sentence"),
    [
        ([1], [5.0], "rung that its station has not"),
        ([-3], [5.0], "rung that its station has not"),
        ([0], [0.0], "must be above zero"),
        ([0], [np.nan], "must be above zero"),
        ([REST], [3.0], "zero at rest"),
    ],
)
def test_pins_that_make_no_sense_are_refused(rung, dose, sentence):
    with pytest.raises(ValueError, match=sentence):
        pinned(circuit(movement_option()), rung, dose)


def test_a_pin_needs_its_dose_and_an_estimate():
    plan = circuit(movement_option())
    rung = np.array([[0]])
    with pytest.raises(ValueError, match="both its rung and its dose"):
        scale(plan, replace(room(plan), pinned_rung=rung))
    unknown = room(plan, most=np.nan, allowed=False)
    with pytest.raises(ValueError, match="no estimate"):
        scale(plan, replace(unknown, pinned_rung=rung, pinned_dose=np.array([[5.0]])))
