"""The product against a second, plain implementation: the same rungs, doses and rounds."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from sessions.scaling.scale import scale
from tests.benchmarks.plain_scaling import plain_scale
from tests.benchmarks.scaling_speed import example_circuit, example_room
from tests.sessions.scaling.builders import circuits, quick, rooms, with_cautions


def agrees(plan, crowd, headroom):
    targets = scale(plan, crowd)
    for i in range(len(crowd)):
        rung, dose, rounds = plain_scale(plan, crowd, i, headroom)
        assert targets.rung[i].tolist() == rung
        np.testing.assert_allclose(targets.dose[i], dose, rtol=1e-9)
        assert targets.rounds[i].tolist() == rounds


def test_it_agrees_on_an_ordinary_room():
    agrees(example_circuit(), example_room(40, np.random.default_rng(11)), 0.10)


def test_it_agrees_with_cautions():
    rng = np.random.default_rng(12)
    agrees(example_circuit(), with_cautions(example_room(40, rng), rng), 0.10)


@quick(30)
@given(st.data())
def test_it_agrees_for_any_circuit_and_room(data):
    plan = data.draw(circuits())
    agrees(plan, data.draw(rooms(plan, n=3, cautions=data.draw(st.booleans()))), plan.headroom)
