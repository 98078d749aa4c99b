from dataclasses import replace

import numpy as np
import pytest

from sessions.scaling.circuit import Circuit, Station
from sessions.scaling.scale import scale
from tests.sessions.scaling.builders import circuit, engine_option, movement_option, room


def test_a_usable_circuit_passes():
    circuit(engine_option(), movement_option(), engine_option("run", 150.0)).validate()


@pytest.mark.parametrize(
    ("broken", "sentence"),
    [
        (circuit(engine_option(), interval=20.0, window=15.0), "interval must be between 30 and 300 seconds"),
        (circuit(engine_option(), rotations=41), "rotations must be between 1 and 40"),
        (circuit(engine_option(), rotations=2.5), "whole numbers"),
        (circuit(engine_option(), headroom=0.95), "headroom"),
        (Circuit((), 5), "Add a station"),
        (circuit(engine_option(), window=70.0), "Station 1: the work window of 70 s is longer"),
        (circuit(engine_option(), window=0.0), "work window above zero"),
        (Circuit((Station(40.0, ()),), 5), "choose a movement"),
        (circuit(movement_option(), engine_option(setup=45.0)), "Station 2: 45 s of set-up leave no time"),
        (circuit(engine_option(setup=-1.0)), "negative"),
        (circuit(engine_option(dose=0.0, least=0.0)), "dose must be above zero"),
        (circuit(engine_option(dose=float("nan"))), "dose must be above zero"),
        (circuit(engine_option(dose=10.0, least=12.0)), "least useful dose"),
        (circuit(engine_option("run", kind="kcal")), "run in metres"),
        (circuit(engine_option("bike", kind="metres")), "bike in calories"),
        (circuit(engine_option("swim")), "choose an engine"),
        (circuit(engine_option(kind="repetitions")), "calories or metres"),
        (circuit(movement_option(kind="kcal")), "repetitions or seconds"),
        (circuit(movement_option(kind="laps")), "choose a dose"),
        (circuit(movement_option(seconds=0.0)), "how many seconds"),
        (circuit(movement_option(kind="load_repetitions")), "load in kilograms"),
        (circuit(movement_option(involvement=(1.0, 0.0))), "one involvement weight"),
        (circuit(movement_option(involvement=(2.0,) * 7)), "between 0 and 1"),
        (circuit(replace(engine_option(), kcal_slope=0.0)), "calorie formula"),
    ],
)
def test_a_circuit_that_cannot_be_scaled_says_what_to_change(broken, sentence):
    with pytest.raises(ValueError, match=sentence):
        broken.validate()


def test_a_room_that_does_not_fit_is_refused():
    plan = circuit(engine_option(), movement_option())
    with pytest.raises(ValueError, match="stations and rungs"):
        room(circuit(engine_option())).validate(plan)
    with pytest.raises(ValueError, match="Station 2, rung 0: .* no estimate"):
        scale(plan, room(plan, most=np.nan))
    with pytest.raises(ValueError, match="Station 1, rung 0: .* no estimate"):
        scale(plan, room(plan, engines={"row": (np.nan, 1.0, 1.0)}))
    with pytest.raises(ValueError, match="no estimate"):
        scale(plan, replace(room(plan), engine_mean={}, engine_cov={}))


def test_nobody_needs_an_estimate_for_what_they_may_not_do():
    plan = circuit(movement_option(), engine_option())
    targets = scale(plan, room(plan, most=np.nan, engines={"row": (np.nan,) * 3}, allowed=False))
    assert (targets.rung == -1).all()
