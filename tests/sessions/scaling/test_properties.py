"""What holds for every circuit and room (section 4 of the method), drawn together so that targets are made once."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sessions.scaling.ability import ability_of, ladder_of
from sessions.scaling.constants import ENGINE_MODEL_SD, REPETITIONS_MODEL_SD
from sessions.scaling.doses import demand_of
from sessions.scaling.scale import scale
from sessions.scaling.targets import Reason, Swap
from tests.sessions.scaling.builders import changed, circuits, quick, rooms

DAYS = ("test", "hard", "steady", "easy")


def steps(plan, targets):
    """One step of each dose, (n, S), or what brings a dose near the prescription onto it, where that is more.

    The prescription itself may lie between two steps. Where one station comes onto its prescription, another may have
    to leave its own by a step more: so two of these are the bound, and one is what nearly all stay within.
    """
    ladder = ladder_of(plan).at(targets.rung)
    return np.maximum(ladder.step + ladder.dose % ladder.step, 0.08 * ladder.dose) + 1e-6


@quick(40)
@given(st.data())
def test_every_target_is_sound(data):
    plan = data.draw(circuits())
    crowd = data.draw(rooms(plan, cautions=data.draw(st.booleans())))
    found = scale(plan, crowd, data.draw(st.sampled_from((None, *DAYS))))
    rest, ladder = found.rung < 0, ladder_of(plan).at(found.rung)
    for name in ("dose", "finish_by_s", "headroom", "probability", "sd_log", "own_dose", "cost", "free"):
        assert np.isfinite(getattr(found, name)).all(), name
    assert ((found.dose == 0) == rest).all()
    assert (found.dose <= np.where(rest, 0, ladder.dose)).all()  # never above what the coach wrote
    whole = np.isclose(found.dose % ladder.step, 0.0) | np.isclose(found.dose % 10.0, 0.0) & ladder.is_metres
    by_time = np.isclose(found.dose, np.minimum(ladder.dose, ladder.most_by_time))
    cautious = (found.dose < ladder.step) | by_time
    assert (rest | whole | (found.dose == ladder.dose) | cautious).all()
    assert ((found.rounds >= 1) | rest).all()
    assert (found.rounds <= plan.rotations).all()
    windows = np.array([station.work_window_s for station in plan.stations])
    assert (found.finish_by_s <= windows + 1e-6).all()
    assert ((found.probability >= 0) & (found.probability <= 1)).all()
    assert ((found.reason_station >= 0) == (found.reason == Reason.TOGETHER)).all()
    assert ((found.swap != Swap.NONE) <= (found.rung > 0)).all()
    # Nobody rests without need
    nothing = ~(crowd.allowed & ladder_of(plan).exists).any(-1)
    no_target = np.zeros(len(crowd), bool) if crowd.no_target is None else crowd.no_target
    assert (rest == (nothing | no_target[:, None])).all()
    # As prescribed needs no reason, and less always has one
    as_written = (found.dose >= found.written) & (found.rounds == plan.rotations) & ~rest
    assert ((found.reason == Reason.AS_WRITTEN) == as_written).all()


@quick(30)
@given(st.data())
def test_an_easier_day_is_easier_for_everyone_and_changes_no_rung(data):
    plan = data.draw(circuits())
    crowd = data.draw(rooms(plan, cautions=data.draw(st.booleans())))
    days = [scale(plan, crowd, day) for day in DAYS]
    for harder, easier in zip(days, days[1:], strict=False):
        assert (easier.rung == harder.rung).all()
        assert (easier.dose <= harder.dose).all()


@quick(40)
@given(st.data())
def test_by_rounds_an_easier_day_asks_for_no_harder_movement_no_more_of_it_and_no_more_rounds(data):
    plan = replace(data.draw(circuits()), scaling="rounds")
    crowd = data.draw(rooms(plan, cautions=data.draw(st.booleans())))
    days = [scale(plan, crowd, day) for day in DAYS if day != "test"]  # a test is no training day
    for harder, easier in zip(days, days[1:], strict=False):
        there, same = easier.rung >= 0, easier.rung == harder.rung
        assert (easier.rung >= harder.rung)[there].all()
        assert (easier.dose <= harder.dose)[same].all()
        # An easier movement may go on for longer, and what makes sore in a smaller dose that comes to no more in all
        total, before = easier.dose * easier.rounds, harder.dose * harder.rounds
        spread = ~same | ladder_of(plan).at(easier.rung).makes_sore & (total <= before)
        assert ((easier.rounds <= harder.rounds) | spread)[there].all()


@quick(30)
@given(st.data())
def test_editing_one_station_changes_no_rung_of_another(data):
    plan = data.draw(circuits())
    crowd, s = data.draw(rooms(plan, cautions=True)), data.draw(st.integers(0, len(plan.stations) - 1))
    edited = tuple(
        replace(option, dose=float(np.ceil(1.5 * option.dose)), least_dose=None) for option in plan.stations[s].options
    )
    stations = list(plan.stations)
    stations[s] = replace(stations[s], options=edited)
    before, after = scale(plan, crowd).rung, scale(replace(plan, stations=tuple(stations)), crowd).rung
    others = np.arange(len(stations)) != s
    np.testing.assert_array_equal(before[:, others], after[:, others])


@quick(40)
@given(st.data())
def test_more_capacity_fewer_rounds_or_longer_rest_ask_no_less(data):
    plan = data.draw(circuits())
    crowd, gain = data.draw(rooms(plan)), data.draw(st.floats(0.0, 0.5))
    before = scale(plan, crowd)
    fewer = replace(plan, rotations=max(plan.rotations - data.draw(st.integers(0, 10)), 1))
    rested = replace(plan, interval_s=min(plan.interval_s + data.draw(st.floats(0.0, 100.0)), 300.0))
    # Where none reaches its least useful dose the closest is taken, by how close each comes
    hard = scale(replace(plan, headroom=0.10), crowd)
    reached = np.minimum(hard.own_dose, ladder_of(plan).at(before.rung).most_by_time) >= before.least
    for other, people in ((plan, changed(crowd, gain)), (fewer, crowd), (rested, crowd)):
        after = scale(other, people)
        assert ((after.rung <= before.rung) | ~reached).all()
        same = (after.rung == before.rung).all(-1, keepdims=True)  # a harder movement elsewhere may take its share
        assert (~same | (after.dose >= before.dose - 2.0 * steps(plan, before))).all()


@quick(30)
@given(st.data())
def test_whoever_holds_the_full_doses_with_the_headroom_gets_them(data):
    plan = data.draw(circuits(most_rungs=1))
    crowd = changed(data.draw(rooms(plan, spread=0.3)), data.draw(st.floats(-0.2, 0.8)))
    ladder = ladder_of(plan)
    ability = ability_of(plan, crowd, ENGINE_MODEL_SD, REPETITIONS_MODEL_SD)
    rung = np.zeros(crowd.allowed.shape[:2], int)
    own, chosen = ladder.at(rung), ability.at(rung)
    asked = np.maximum(own.intensity(own.dose) / (1 - plan.headroom) - chosen.free, 0) * chosen.per
    together = (np.einsum("nsj,nj->ns", demand_of(plan, chosen, rung, plan.rotations), asked) <= 1).all(-1)
    alone = (own.dose_of(chosen.own(plan.rotations, plan.headroom)) >= own.dose).all(-1)
    time = (own.most_by_time >= own.dose).all(-1)
    holds = together & alone & time & crowd.allowed[..., 0].all(-1)
    targets = scale(plan, crowd)
    assert (targets.reason[holds] == Reason.AS_WRITTEN).all()
    assert (targets.rounds_as_prescribed[holds] == plan.rotations).all()
    # And with what nobody is asked to hold, the headroom of the day is nearly kept at the most probable capacity
    full = targets.dose > ladder.at(targets.rung).step
    assert (targets.headroom[full.all(-1)] >= plan.headroom - 0.05 - 1e-6).all()


def test_one_per_cent_moves_no_dose_by_more_than_a_step_and_hardly_a_rung():
    moved = checked = far = 0

    @settings(quick(40), derandomize=True)
    @given(st.data())
    def check(data):
        nonlocal moved, checked, far
        plan = data.draw(circuits())
        crowd = data.draw(rooms(plan))
        before, after = scale(plan, crowd), scale(plan, changed(crowd, data.draw(st.sampled_from((-0.01, 0.01)))))
        same = before.rung == after.rung
        moved, checked = moved + (~same).sum(), checked + same.size
        change = np.abs(after.dose - before.dose) * same.all(-1, keepdims=True)
        far += (change > steps(plan, before)).sum()
        assert (change <= 2.0 * steps(plan, before)).all()

    check()
    assert checked > 300
    assert moved / checked < 0.01
    assert far / checked < 0.002


@quick(25)
@given(st.data())
def test_of_two_athletes_the_better_one_in_everything_gets_no_less(data):
    plan = data.draw(circuits(most_rungs=1))
    crowd = data.draw(rooms(plan))
    gains = np.linspace(0.0, 0.6, len(crowd))
    one = crowd.take(np.zeros(len(crowd), int))
    targets = scale(plan, changed_by(one, gains))
    assert (np.diff(targets.dose, axis=0) >= -2.0 * steps(plan, targets)[1:]).all()


def changed_by(crowd, gains):
    both = gains[:, None] * np.array([1.0, 1.0, 0.0])
    return replace(
        crowd,
        engine_mean={engine: mean + both for engine, mean in crowd.engine_mean.items()},
        repetitions_mean=crowd.repetitions_mean + gains[:, None, None],
        paced_mean=crowd.paced_mean + both[:, None, None, :],
    )


@quick(20)
@given(st.data())
def test_cautions_never_raise_and_the_strictest_alone_counts(data):
    plan = data.draw(circuits())
    crowd = replace(data.draw(rooms(plan, cautions=True)), no_target=None, unknown=None)
    free = replace(crowd, untested=None, newcomer_week=None, most_in_session=None)
    careful, usual = scale(plan, crowd), scale(plan, free)
    there = careful.rung >= 0
    untested = np.take_along_axis(crowd.untested, np.maximum(careful.rung, 0)[..., None], 2)[..., 0] & there
    plain = (crowd.week == 0) & ~crowd.untested.any((1, 2)) & (careful.rung == usual.rung).all(-1)
    np.testing.assert_array_equal(careful.dose[plain], usual.dose[plain])
    assert (careful.rounds[plain] <= usual.rounds[plain]).all()
    step = ladder_of(plan).at(careful.rung).step
    assert (careful.dose <= np.maximum(2 / 3 * careful.written + 0.5 * step, step) + 1e-6)[untested].all()
    # A newcomer's session is cut to the share of the week in all, to the nearest round, whatever the cut is made of
    share = np.array([1.0, 0.5, 0.7, 0.8, 0.9])[crowd.week]
    part = np.where(there, np.where(untested, 2 / 3, 1.0), np.nan)
    newcomer = (crowd.week > 0) & there.any(-1) & np.isinf(crowd.most_in_session).all((1, 2))
    for i in np.flatnonzero(newcomer):
        exact = plan.rotations * min(share[i] / np.nanmean(part[i]), 1.0)
        assert (np.abs(careful.rounds[i, there[i]] - max(exact, 1.0)) <= 0.5 + 1e-9).all()


@quick(40)
@given(st.data())
def test_by_rounds_the_cautions_stand(data):
    plan = replace(data.draw(circuits()), scaling="rounds", open_last=True)
    crowd = data.draw(rooms(plan, cautions=True))
    found, ladder = scale(plan, crowd), ladder_of(plan)
    there, rung = found.rung >= 0, np.maximum(found.rung, 0)[..., None]
    own = ladder.at(found.rung)
    limit, untested = (np.take_along_axis(a, rung, 2)[..., 0] for a in (crowd.most_in_session, crowd.untested))
    sore = own.makes_sore & there
    total = found.dose * found.rounds
    assert (total <= np.maximum(limit, found.dose) * (1.0 + 1e-6))[sore].all()
    assert (found.dose <= np.maximum(2 / 3 * found.written + 0.5 * own.step, own.step) + 1e-6)[untested & there].all()
    assert (found.dose <= found.written + 1e-9)[there].all()
    assert (np.take_along_axis(crowd.allowed & ladder.exists, rung, 2)[..., 0] | ~there).all()
    new = crowd.week > 0
    usual = scale(replace(plan, scaling="dose"), crowd)
    for name in ("rung", "dose"):
        np.testing.assert_array_equal(getattr(found, name)[new], getattr(usual, name)[new])
    np.testing.assert_array_equal(found.rounds[new], np.minimum(usual.rounds[new], (plan.rotations + 1) // 2))
    assert (found.rounds <= plan.rotations).all()
    assert ((found.rounds >= 1) == there).all()
    assert (~found.open_last | (found.rounds == plan.rotations)).all()


@quick(40)
@given(st.data())
def test_by_rounds_who_is_without_a_caution_stops_after_half_of_them_at_least(data):
    plan = replace(data.draw(circuits()), scaling="rounds")
    crowd = data.draw(rooms(plan))
    found = scale(plan, crowd)
    there = found.rung >= 0
    assert (found.rounds >= (plan.rotations + 1) // 2)[there].all()
    kept = (found.reason == Reason.ROUNDS).any(-1)
    limited = np.isin(found.reason, (Reason.TIME, Reason.OWN))  # by the clock, or by one station alone
    whole = (found.dose >= found.written) | limited | ~there
    assert whole[kept].all()
    assert (found.headroom[kept] >= plan.headroom - 0.05 - 1e-6).all()


@pytest.mark.parametrize("block", [1, 7])
def test_blocks_of_athletes_do_not_show(monkeypatch, block):
    from tests.benchmarks.scaling_speed import example_circuit, example_room

    crowd = example_room(23, np.random.default_rng(14))
    whole = scale(example_circuit(), crowd)
    monkeypatch.setattr("sessions.scaling.scale.BLOCK", block)
    for name, array in vars(scale(example_circuit(), crowd)).items():
        np.testing.assert_allclose(array, getattr(whole, name), rtol=1e-12, err_msg=name)
