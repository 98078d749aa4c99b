import numpy as np

from sessions.scaling.scale import scale
from sessions.scaling.swap import next_allowed
from sessions.scaling.targets import Bound, Swap
from tests.sessions.scaling.builders import PUSH, circuit, engine_option, movement_option, room


def ladder(*leasts, dose=10.0):
    return tuple(movement_option(dose=dose, least=least) for least in leasts)


def scaled(plan, **kwargs):
    return scale(plan, room(plan, **kwargs))


def test_the_next_allowed_rung():
    allowed = np.array([[[False, True, False]]])
    assert next_allowed(np.array([[0]]), allowed) == 1
    assert next_allowed(np.array([[1]]), allowed) == 1
    assert next_allowed(np.array([[2]]), allowed) == -1
    assert next_allowed(np.array([[3]]), allowed) == -1


def test_who_can_stays_on_the_prescription():
    targets = scaled(circuit(ladder(4, 4), rotations=3), most=60.0)
    assert (targets.rung, targets.dose, targets.swap) == (0, 10.0, Swap.NONE)


def test_a_forbidden_movement_is_left_for_the_first_allowed_one():
    targets = scaled(circuit(ladder(4, 4, 4)), most=60.0, allowed=np.array([[[False, False, True]]]))
    assert (targets.rung, targets.swap) == (2, Swap.FORBIDDEN)


def test_nothing_allowed_is_rest():
    targets = scaled(circuit(ladder(4, 4), engine_option(least=5)), allowed=np.array([[[False], [True]]]))
    assert (targets.rung[0, 0], targets.dose[0, 0], targets.bound[0, 0]) == (-1, 0.0, Bound.REST)
    assert (targets.headroom[0, 0], targets.probability[0, 0], targets.done_by_s[0, 0]) == (1.0, 1.0, 0.0)
    assert targets.rung[0, 1] == 0


def test_too_small_a_dose_goes_down_the_ladder_as_far_as_needed():
    targets = scaled(circuit(ladder(4, 4, 4)), most=np.array([[[5.0, 8.0, 60.0]]]))
    assert (targets.rung, targets.swap) == (2, Swap.TOO_LITTLE)
    assert targets.dose >= 4.0


def test_a_ladder_that_ends_is_rest_and_says_why():
    targets = scaled(circuit(ladder(4, 4)), most=3.0)
    assert (targets.rung, targets.swap, targets.bound) == (-1, Swap.TOO_LITTLE, Bound.REST)


def test_a_rung_that_is_too_little_and_then_a_forbidden_one_are_both_passed():
    allowed = np.array([[[True, False, True]]])
    targets = scaled(circuit(ladder(4, 4, 4)), most=np.array([[[5.0, 60.0, 60.0]]]), allowed=allowed)
    assert (targets.rung, targets.swap) == (2, Swap.TOO_LITTLE)


def test_only_the_worst_station_steps_down_when_sharing_leaves_too_little():
    # Each alone gives 5 of at least 5; together they do not. Push-ups on the second rung tire no pull.
    easier = movement_option(dose=5.0, least=2.0, involvement=PUSH)
    plan = circuit((movement_option(least=5.0), easier), (movement_option(least=5.0), easier), rotations=5)
    targets = scaled(plan, most=np.array([[[11.5, 30.0], [12.5, 30.0]]]), most_sd=0.0)
    assert targets.rung.tolist() == [[1, 0]]
    assert targets.swap.tolist() == [[Swap.TOO_LITTLE, Swap.NONE]]
    assert targets.dose[0, 1] >= 5.0


def test_an_easy_day_drives_nobody_off_a_movement():
    plan = circuit(ladder(8, 4))
    targets = scale(plan, room(plan, most=60.0), intent=0.6)
    assert (targets.rung, targets.dose) == (0, 6.0)
