from dataclasses import replace

import numpy as np
import pytest

from sessions.scaling.circuit import Circuit, Station, equal_dose
from sessions.scaling.scale import scale
from tests.sessions.scaling.builders import circuit, engine_option, movement_option, room


def test_a_usable_circuit_passes():
    circuit(engine_option(), movement_option(), engine_option("run", 150.0)).validate()


@pytest.mark.parametrize(
    ("broken", "sentence"),
    [
        (circuit(engine_option(), interval=15.0, window=10.0), "interval must be between 20 and 900 seconds"),
        (circuit(engine_option(), rotations=41), "rounds must be between 1 and 40"),
        (circuit(engine_option(), rotations=2.5), "whole numbers"),
        (circuit(engine_option(), headroom=0.95), "headroom"),
        (Circuit((), 5), "Add a station"),
        (circuit(engine_option(), window=70.0), "Station 1: the work time of 70 s is longer"),
        (circuit(engine_option(), window=0.0), "work time above zero"),
        (Circuit((Station(40.0, ()),), 5), "choose a movement"),
        (
            circuit(movement_option(), engine_option(setup=45.0)),
            "Station 2: 45 s of set-up leave no time in a work time of 45 s",
        ),
        (circuit(engine_option(setup=-1.0)), "negative"),
        (circuit(engine_option(dose=0.0, least=0.0)), "dose must be above zero"),
        (circuit(engine_option(dose=float("nan"))), "dose must be above zero"),
        (circuit(engine_option(dose=10.0, least=12.0)), "range is upside down"),
        (circuit(engine_option("run", kind="kcal")), "run in metres"),
        (circuit(engine_option("bike", kind="metres")), "bike in calories"),
        (circuit(engine_option("swim")), "choose an engine"),
        (circuit(engine_option(kind="repetitions")), "calories, metres or seconds"),
        (circuit(movement_option(kind="kcal")), "repetitions or seconds"),
        (circuit(movement_option(kind="laps")), "choose a dose"),
        (circuit(movement_option(seconds=0.0)), "how many seconds"),
        (circuit(engine_option(dose=10.0, least=-1.0)), "“At least” cannot be negative"),
        (circuit(movement_option(kind="load_repetitions")), "load in kilograms"),
        (circuit(movement_option(kind="load_repetitions", percent=0.0)), "percentage"),
        (circuit(movement_option(kind="load_repetitions", percent=120.0)), "not above 100"),
        (circuit(movement_option(kind="load_repetitions", reserve=-1.0)), "in reserve"),
        (circuit(movement_option(kind="load_repetitions", load_kg=-20.0)), "load must be above zero"),
        (circuit(movement_option(kind="seconds", paced=True)), "paced"),
        (circuit(engine_option(paced=True)), "paced"),
        (circuit(engine_option(), scaling="load"), "Scale by one of dose, rounds"),
        (circuit(movement_option(involvement=(1.0, 0.0))), "one involvement weight"),
        (circuit(movement_option(involvement=(2.0,) * 7)), "between 0 and 1"),
        (circuit(replace(engine_option(), kcal_slope=0.0)), "calorie formula"),
    ],
)
def test_a_circuit_that_cannot_be_scaled_says_what_to_change(broken, sentence):
    with pytest.raises(ValueError, match=sentence):
        broken.validate()


def test_without_a_range_the_least_useful_dose_is_half():
    assert [movement_option(12.0, least).least for least in (None, 0.0, 7.0)] == [6.0, 6.0, 7.0]


def test_the_dose_of_another_form_asks_as_much():
    assert equal_dose(6.0, 1.8, "repetitions") == 11.0
    assert equal_dose(200.0, 0.93, "metres") == 175.0


def test_a_room_that_does_not_fit_is_refused():
    plan = circuit(engine_option(), movement_option())
    fitting = room(plan)
    for change, sentence in (
        ({"allowed": np.ones((1, 1, 1), bool)}, "allowed must have the shape"),
        ({"engine_mean": {}, "engine_cov": {}}, "no estimates for the row"),
        ({"engine_mean": {"row": np.full((1, 3), np.nan)}}, "no estimate of the row"),
        ({"newcomer_week": np.array([5])}, "week of a newcomer"),
        ({"most_in_session": np.full((1, 2, 1), np.nan)}, "most in a session"),
        ({"refill": np.array([0.0])}, "refill"),
        ({"fitness": np.array([np.nan])}, "fitness"),
        ({"paced_mean": np.zeros((1, 2, 1, 3))}, "together"),
        ({"pinned_rung": np.zeros((1, 2), int)}, "needs its dose"),
        ({"pinned_rung": np.ones((1, 2), int), "pinned_dose": np.ones((1, 2))}, "choose one of its list"),
        ({"pinned_rung": np.zeros((1, 2), int), "pinned_dose": np.zeros((1, 2))}, "above zero"),
        (
            {
                "pinned_rung": np.zeros((1, 2), int),
                "pinned_dose": np.ones((1, 2)),
                "pinned_rounds": np.full((1, 2), 99),
            },
            "Rounds set by hand",
        ),
    ):
        with pytest.raises(ValueError, match=sentence):
            scale(plan, replace(fitting, **change))
    with pytest.raises(ValueError, match="Unknown intent"):
        scale(plan, fitting, "brutal")


def test_nobody_needs_an_estimate_for_what_they_may_not_do():
    plan = circuit(movement_option(), engine_option())
    targets = scale(plan, room(plan, most=np.nan, engines={"row": (np.nan,) * 3}, allowed=False))
    assert (targets.rung == -1).all()
