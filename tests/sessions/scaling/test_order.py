"""The better order of stations, against every order worked out by the method itself."""

from dataclasses import fields, replace
from itertools import permutations

import numpy as np
import pytest

from sessions.scaling.ability import ability_of
from sessions.scaling.constants import ENGINE_MODEL_SD, HEADROOMS, REPETITIONS_MODEL_SD, REST
from sessions.scaling.doses import demand_of
from sessions.scaling.order import LEAST_GAIN, better_order
from sessions.scaling.prediction import headroom_left
from sessions.scaling.scale import scale
from tests.sessions.scaling.builders import PULL, PUSH, circuit, engine_option, movement_option, room

SQUAT = (0.0, 0.0, 0.0, 1.0, 0.2, 0.0, 0.4)
PER_STATION = ("repetitions_mean", "repetitions_sd", "allowed")


def plan_of(*ladders, rotations=6):
    return circuit(*ladders, rotations=rotations)


def clash(rotations=6):
    """Two pulls one after the other, then two pushes, and the machine."""
    pull, push = movement_option(7.0, involvement=PULL), movement_option(12.0, involvement=PUSH)
    return plan_of(pull, pull, push, push, engine_option(dose=10.0), rotations=rotations)


def left_in(plan, people, targets, order):
    """What is left at everyone's tightest station, (n,), with the same doses and the stations in another order."""
    order = list(order)
    moved = replace(plan, stations=tuple(plan.stations[s] for s in order))
    there = {name: getattr(people, name)[:, order] for name in PER_STATION}
    ability = ability_of(moved, replace(people, **there), ENGINE_MODEL_SD, REPETITIONS_MODEL_SD, HEADROOMS["hard"])
    rung = targets.rung[:, order]
    demand = demand_of(moved, ability.at(rung), rung, np.maximum(targets.rounds[:, order], 1))
    left = headroom_left(demand, targets.cost[:, order], targets.free[:, order], rung != REST)
    return left.min(-1)


@pytest.mark.parametrize("rotations", [3, 5, 6, 9])
def test_it_is_the_best_of_all_orders_that_begin_with_the_first_station(rotations):
    plan = clash(rotations)
    people = room(plan, n=4, most=np.array([14.0, 18.0, 22.0, 30.0])[:, None, None])
    targets = scale(plan, people)
    found = better_order(plan, people, targets)
    orders = [(0, *rest) for rest in permutations(range(1, 5))]
    every = {order: left_in(plan, people, targets, order).mean() for order in orders}
    now = every[0, 1, 2, 3, 4]
    if found is None:
        assert max(every.values()) - now < LEAST_GAIN + 0.005
        return
    assert found.gain == pytest.approx(every[found.stations] - now, abs=1e-9)
    assert every[found.stations] == pytest.approx(max(every.values()), abs=0.005)


def test_pulls_that_follow_each_other_are_parted():
    plan = clash()
    people = room(plan, n=6, most=20.0)
    order = better_order(plan, people, scale(plan, people)).stations
    apart = (order.index(1) - order.index(0)) % 5
    assert 1 < apart < 4
    assert order[0] == 0


def test_nothing_is_said_where_nothing_is_won():
    plan = plan_of(*(movement_option(8.0, involvement=PULL) for _ in range(4)))
    people = room(plan, n=5, most=30.0)
    assert better_order(plan, people, scale(plan, people)) is None
    short = plan_of(movement_option(8.0), movement_option(8.0))
    assert better_order(short, room(short, n=3), scale(short, room(short, n=3))) is None


def test_an_empty_room_has_no_order():
    plan = clash()
    people = room(plan, n=2, most=20.0)
    nobody = people.take(np.array([], int))
    targets = scale(plan, people)
    none = replace(targets, **{field.name: getattr(targets, field.name)[:0] for field in fields(targets)})
    assert better_order(plan, nobody, none) is None


def test_eight_stations_are_tried_in_a_moment():
    pull, push, squat = (movement_option(8.0, involvement=weights) for weights in (PULL, PUSH, SQUAT))
    plan = plan_of(pull, pull, push, push, squat, squat, engine_option(dose=6.0), engine_option("ski", 5.0))
    people = room(plan, n=60, most=24.0, fitness=np.linspace(-2, 2, 60))
    found = better_order(plan, people, scale(plan, people))
    assert found.gain >= LEAST_GAIN
    assert sorted(found.stations) == list(range(8))
