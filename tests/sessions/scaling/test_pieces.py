"""For time and as many rounds as fit: what holds for everybody, and a strong and a weak athlete in one piece."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.scaling.pacing import pace_sequence
from sessions.scaling.pieces import WAY_S, usual
from sessions.scaling.scale import scale
from sessions.scaling.sequence import Leg, Sequence
from sessions.scaling.targets import Reason, Swap
from tests.sessions.scaling.builders import changed, circuit, engine_option, movement_option, quick, room, rooms

RUN, ROW = engine_option("run", 800.0, setup=0.0), engine_option("row", 750.0, kind="metres", setup=0.0)


def for_time(*ladders, limit=3600.0, rotations=4, **more):
    return circuit(*ladders, rotations=rotations, format="for_time", limit_s=limit, **more)


def as_many(*ladders, limit=720.0, **more):
    return circuit(*ladders, rotations=1, format="as_many", limit_s=limit, **more)


def middle(targets):
    return targets.expected[:, 0]


def test_legs_on_engines_alone_are_paced_as_a_sequence_is():
    plan = for_time(RUN, ROW)
    found = scale(plan, room(plan), "hard")
    legs = (Leg("run", "metres", 800.0), Leg("row", "metres", 750.0))
    paced = pace_sequence(Sequence(legs, 4, 0.10), room(plan).engine_mean)
    assert np.allclose(found.hold, paced.hold[:, :2])
    assert middle(found) == pytest.approx(paced.total_s + 8 * WAY_S)


def test_a_strong_and_a_weak_athlete_finish_within_a_sensible_spread():
    """Common practice: what is for time is written so that the last are done within half as long again as the first."""
    pulls, squats = (movement_option(15.0), movement_option(20.0)), movement_option(20.0, seconds=1.5)
    plan = for_time(engine_option("row", 500.0, kind="metres"), pulls, squats, limit=1500.0)
    crowd = room(plan, 3, most=np.array([10.0, 20.0, 40.0])[:, None, None])
    gains = np.outer([-0.3, 0.0, 0.3], [1.0, 1.0, 0.0])
    crowd = replace(crowd, engine_mean={engine: mean + gains for engine, mean in crowd.engine_mean.items()})
    found = scale(plan, crowd, "hard")
    assert middle(found).max() < 1.5 * middle(found).min()
    assert (middle(found) <= 1500.0).all()
    assert (found.hold[:, 0] == np.sort(found.hold[:, 0])).all()
    assert found.dose[0, 1] < found.dose[2, 1] == 15.0


@given(st.data())
@quick(30)
def test_of_the_same_doses_the_fitter_is_not_slower(data):
    plan = for_time(RUN, engine_option("bike", 20.0), movement_option(8.0), movement_option(12.0, paced=True))
    crowd = data.draw(rooms(plan))
    better = changed(crowd, data.draw(st.floats(0.01, 0.3)))
    found, faster = scale(plan, crowd, "hard"), scale(plan, better, "hard")
    same = (found.dose == faster.dose).all(-1) & (found.rung == faster.rung).all(-1) & np.isfinite(middle(found))
    assert (middle(faster)[same] <= middle(found)[same] * (1.0 + 1e-6)).all()


@given(st.data())
@quick(20)
def test_more_rounds_take_longer_and_are_no_faster(data):
    plan = for_time(RUN, ROW, movement_option(6.0))
    crowd = data.draw(rooms(plan, spread=0.7))
    rounds = data.draw(st.integers(1, 6))
    few = scale(replace(plan, rotations=rounds), crowd, "hard")
    many = scale(replace(plan, rotations=rounds + 1), crowd, "hard")
    same = (few.dose == many.dose).all(-1) & (few.rung == many.rung).all(-1) & np.isfinite(middle(few))
    assert (middle(many)[same] > middle(few)[same]).all()
    engines = few.rung[:, :2] >= 0
    assert (many.hold[:, :2] <= few.hold[:, :2] * (1.0 + 1e-6))[engines & same[:, None]].all()


@given(st.floats(200.0, 3000.0), st.floats(1.1, 3.0))
@quick(30)
def test_a_longer_leg_is_not_done_faster(metres, times):
    short, long = (for_time(engine_option("row", d, kind="metres"), RUN) for d in (metres, metres * times))
    holds = [scale(plan, room(plan), "hard").hold[0, 0] for plan in (short, long)]
    assert holds[1] <= holds[0] * (1.0 + 1e-3)  # the hold is of a dose in whole steps of 25 m


def test_an_easier_day_is_slower_and_never_asks_for_more():
    plan = for_time(ROW, movement_option(10.0))
    hard, easy = (scale(plan, room(plan, most=14.0), intent) for intent in ("hard", "easy"))
    assert middle(easy) > middle(hard)
    assert (easy.dose <= hard.dose).all()
    assert easy.expected_rpe < hard.expected_rpe


def test_under_a_cap_that_is_too_short_doses_give_way_by_half_at_most():
    plan = for_time(ROW, movement_option(10.0))
    free = scale(plan, room(plan, most=30.0), "hard")
    capped = scale(replace(plan, limit_s=0.75 * float(middle(free)[0])), room(plan, most=30.0), "hard")
    assert middle(capped) <= 0.75 * middle(free)
    assert set(capped.reason[0]) == {Reason.TIME}
    hopeless = scale(replace(plan, limit_s=120.0), room(plan, most=30.0), "hard")
    assert (hopeless.dose >= 0.5 * free.dose - 25.0).all()


def test_who_can_do_little_of_it_swaps_as_on_the_clock():
    plan = for_time(ROW, (movement_option(15.0, least=10.0), movement_option(20.0)))
    found = scale(plan, room(plan, most=np.array([[[4.0, 4.0], [4.0, 30.0]]])), "hard")
    assert (found.rung[0, 1], found.swap[0, 1]) == (1, Swap.TOO_LITTLE)


def test_a_first_time_and_a_newcomer_are_spared():
    plan = for_time(ROW, movement_option(12.0))
    untested = np.zeros((1, 2, 1), bool)
    untested[0, 1] = True
    first = scale(plan, room(plan, most=60.0, untested=untested), "hard")
    assert (first.dose[0].tolist(), first.reason[0, 1]) == ([750.0, 8.0], Reason.UNTESTED)
    newcomer = scale(plan, room(plan, most=60.0, newcomer_week=np.array([1])), "hard")
    assert (newcomer.rounds[0].tolist(), newcomer.reason[0, 0]) == ([2, 2], Reason.NEWCOMER)


def test_what_is_set_by_hand_stands():
    plan = for_time(ROW, movement_option(12.0))
    found = scale(plan, room(plan, pinned_rung=np.array([[-2, 0]]), pinned_dose=np.array([[0.0, 40.0]])), "hard")
    assert (found.dose[0, 1], found.reason[0, 1]) == (40.0, Reason.BY_HAND)


@given(st.data())
@quick(20)
def test_more_time_and_more_fitness_are_never_fewer_rounds(data):
    plan = as_many(engine_option("row", 12.0), movement_option(5.0))
    crowd = data.draw(rooms(plan, spread=0.6))
    found = scale(plan, crowd, "hard")
    longer = scale(replace(plan, limit_s=960.0), crowd, "hard")
    asked = np.isfinite(middle(found)) & (found.dose == longer.dose).all(-1) & (found.rung == longer.rung).all(-1)
    assert (middle(longer)[asked] > middle(found)[asked]).all()
    better = scale(plan, changed(crowd, 0.1), "hard")
    same = asked & (found.dose == better.dose).all(-1) & (found.rung == better.rung).all(-1)
    assert (middle(better)[same] >= middle(found)[same] * (1.0 - 1e-6)).all()


def test_as_many_rounds_take_the_time_that_there_is():
    plan = as_many(engine_option("row", 200.0, kind="metres"), movement_option(6.0))
    found = scale(plan, room(plan), "hard")
    rounds = float(middle(found)[0])
    whole = for_time(*(station.options for station in plan.stations), rotations=round(rounds))
    total = float(middle(scale(whole, room(whole), "hard"))[0])
    assert total / round(rounds) == pytest.approx(720.0 / rounds, rel=0.03)
    assert found.expected[0, 1] < rounds < found.expected[0, 2]


def test_the_usual_circuit_lasts_about_as_long_as_the_piece():
    plan = as_many(movement_option(5.0), movement_option(10.0), limit=1200.0)
    assert usual(plan).duration_s == pytest.approx(1200.0, rel=0.1)


# --- Seconds at a pace ---


def at_pace(seconds=30.0, **more):
    return circuit(engine_option(kind="seconds", dose=seconds), window=seconds, interval=120.0, rotations=10, **more)


def test_seconds_at_a_pace_are_all_done_and_the_pace_gives_way():
    plan = at_pace()
    found = [scale(plan, room(plan, engines={"row": (cp, 15_000.0, 20.0)}), "hard") for cp in (150.0, 250.0)]
    assert [one.dose[0, 0] for one in found] == [30.0, 30.0]
    assert [one.reason[0, 0] for one in found] == [Reason.AS_WRITTEN] * 2
    assert found[0].hold[0, 0] < found[1].hold[0, 0]
    assert found[0].rounds_as_prescribed[0] == 10


def test_the_pace_is_the_one_at_which_the_same_work_in_metres_could_just_be_held():
    """10 × 0:30 on, 1:30 off: held with the headroom of the day, by the closed form of one station."""
    from sessions.scaling.engine import hold_power

    plan = at_pace()
    found = scale(plan, room(plan), "hard")
    assert found.headroom[0, 0] == pytest.approx(0.10, abs=0.01)
    closed = float(hold_power(200.0, 15_000.0, 20.0, 30.0, 10, 120.0, 0.0, 0.10))
    assert found.hold[0, 0] == pytest.approx(closed, rel=0.01)


def test_longer_easier_and_hotter_seconds_are_slower():
    held = [scale(at_pace(seconds), room(at_pace(seconds)), intent).hold[0, 0]
            for seconds, intent in ((30.0, "hard"), (60.0, "hard"), (60.0, "easy"))]  # fmt: skip
    assert held == sorted(held, reverse=True)


def test_seconds_at_a_pace_beside_movements_and_by_hand():
    plan = circuit(engine_option(kind="seconds", dose=40.0, setup=3.0), movement_option(6.0))
    found = scale(plan, room(plan), "hard")
    assert (found.dose[0].tolist(), np.isfinite(found.hold[0, 0])) == ([40.0, 6.0], True)
    pinned = room(plan, pinned_rung=np.array([[0, -2]]), pinned_dose=np.array([[20.0, 0.0]]))
    assert scale(plan, pinned, "hard").dose[0, 0] == 20.0


def test_rounds_do_not_give_way_for_a_pace():
    with pytest.raises(ValueError, match="scale by the pace"):
        scale(at_pace(scaling="rounds"), room(at_pace()), "hard")
