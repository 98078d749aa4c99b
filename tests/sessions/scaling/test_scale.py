"""Worked examples of targets: what a coach would write, step by step."""

from dataclasses import replace

import numpy as np
import pytest

from sessions.scaling.circuit import Circuit, Station
from sessions.scaling.constants import NO_PIN, QUANTILE, REST
from sessions.scaling.demand import fade_sum
from sessions.scaling.engine import hold_power
from sessions.scaling.scale import scale
from sessions.scaling.targets import Reason, Swap
from tests.sessions.scaling.builders import NOTHING_SHARED, PULL, circuit, engine_option, movement_option, room

PULL_UP = movement_option(6.0, seconds=2.5, makes_sore=True, needs_skill=True)
BANDED = movement_option(8.0, seconds=2.5, makes_sore=True)
RING_ROW = movement_option(11.0, seconds=2.0)
LADDER = (PULL_UP, BANDED, RING_ROW)


def one(plan, most, intent=None, **more):
    """Targets of one athlete whose unbroken bests are `most` by rung."""
    return scale(plan, room(plan, most=np.array(most, float), **more), intent)


# --- Own dose ---


def test_an_engine_alone_by_hand():
    plan = circuit(engine_option("row", 30.0), rotations=10)
    found = scale(plan, room(plan, engine_sd=0.0))
    # One station every minute, 42 s of work: at rest in between, and a tenth left
    held = hold_power(200.0, 15_000.0, 20.0, 42.0, 10, 60.0, 0.0, 0.10)
    assert found.own_dose == pytest.approx((300.0 + 3.4416 * held) * 42.0 / 3600.0)
    assert found.dose == np.round(found.own_dose)
    assert found.hold == pytest.approx((3600.0 * found.dose / 42.0 - 300.0) / 3.4416)
    assert found.finish_by_s == 45.0
    assert found.reason == Reason.OWN


def test_repetitions_alone_by_hand():
    plan = circuit(movement_option(30.0, seconds=1.0), rotations=8, interval=90.0)
    found = one(plan, 40.0, most_sd=0.0)
    # The cautious capacity, 15 % SD of the model, binds before a tenth left: exp(−1.2816·0.15) = 0.825
    assert QUANTILE == 0.10
    assert found.own_dose == pytest.approx(40.0 / fade_sum(0.0, 90.0, 8, 90.0) * np.exp(-1.28155 * 0.15), rel=1e-4)
    assert found.finish_by_s == 2.0 + found.dose


def test_a_paced_movement_is_held_like_an_engine():
    plan = circuit(movement_option(20.0, seconds=2.0, setup=0.0, paced=True), rotations=6)
    curve = np.log([12.0, 300.0, 10.0])
    paced = {"paced_mean": np.tile(curve, (1, 1, 1, 1)), "paced_cov": np.zeros((1, 1, 1, 3, 3))}
    found = one(plan, 60.0, **paced)
    held = hold_power(12.0, 300.0, 10.0, 45.0, 6, 60.0, 0.0, 0.10)  # repetitions a minute
    assert found.own_dose == pytest.approx(held * 45.0 / 60.0)
    assert found.hold == pytest.approx(found.dose * 60.0 / 45.0)
    assert found.finish_by_s == 45.0


def test_time_can_be_what_limits():
    found = one(circuit(movement_option(30.0, seconds=2.0)), 300.0)
    assert found.dose == 21.0  # 43 s after set-up
    assert found.reason == Reason.TIME


def test_a_slower_refill_asks_for_less():
    plan = circuit(engine_option("row", 30.0), rotations=10)
    quick, slow = (scale(plan, room(plan, refill=np.array([rho]))).own_dose for rho in (2.0, 8.0))
    assert slow < quick


# --- Rung ---


def test_the_first_rung_that_reaches_its_least_useful_dose():
    plan = circuit(LADDER, rotations=7, interval=180.0)
    for most, rung, swap in (((20, 30, 40), 0, Swap.NONE), ((4, 20, 30), 1, Swap.TOO_LITTLE), ((1, 5, 20), 2, 2)):
        found = one(plan, most)
        assert (found.rung, found.swap) == (rung, swap)


def test_a_range_says_what_is_useful():
    plan = circuit((replace(PULL_UP, least_dose=5.0), RING_ROW), rotations=7, interval=180.0)
    assert one(plan, (8, 40)).rung == 1
    assert one(replace(plan, stations=(Station(45.0, (PULL_UP, RING_ROW)),)), (8, 40)).rung == 0


def test_where_nothing_reaches_the_closest_is_done_and_nobody_rests():
    plan = circuit(LADDER, rotations=7, interval=180.0)
    found = one(plan, (0.2, 1.0, 5.0))
    assert found.rung == 2
    assert found.dose >= 1.0
    assert one(plan, (0.2, 0.2, 0.2)).dose == 1.0


def test_rest_only_where_nothing_is_allowed():
    plan = circuit(LADDER, RING_ROW)
    found = one(plan, 20.0, allowed=np.array([[[False] * 3, [True] * 3]]))
    assert found.rung.tolist() == [[REST, 0]]
    assert found.reason[0, 0] == Reason.REST
    assert found.probability[0, 0] == found.headroom[0, 0] == 1.0
    assert np.isnan(found.hold[0, 0])
    forbidden = one(plan, 20.0, allowed=np.array([[[False, True, True], [True] * 3]]))
    assert forbidden.swap[0, 0] == Swap.FORBIDDEN


def test_what_nobody_was_ever_tested_on_is_just_right_for_the_athlete_at_the_anchor():
    plan = circuit(movement_option(12.0, seconds=1.5))
    people = room(plan, n=4, most=np.nan, fitness=np.array([0.8416, 2.0, 0.0, -1.5]))
    hard, easy = scale(plan, people, "hard"), scale(plan, people, "easy")
    # Log-SD of 0.35 between athletes
    assert hard.own_dose[:, 0] == pytest.approx(
        12.0 * np.exp(0.35 * np.array([0.0, 1.1584, -0.8416, -2.3416])), rel=1e-3
    )
    assert hard.dose[:, 0].tolist() == [12.0, 12.0, 9.0, 5.0]
    assert (easy.dose < hard.dose)[2].all()


# --- Together ---


def test_of_two_stations_that_share_muscles_one_gives_way_and_a_third_keeps_all():
    plan = circuit(
        movement_option(8.0, involvement=PULL),
        movement_option(8.0, involvement=PULL),
        movement_option(8.0, involvement=NOTHING_SHARED[1]),
        rotations=6,
    )
    found = one(plan, 17.0)
    assert (found.own_dose >= 8.0).all()  # each alone
    assert found.dose[0].tolist() == [8.0, 7.0, 8.0]
    assert found.reason[0].tolist() == [Reason.AS_WRITTEN, Reason.TOGETHER, Reason.AS_WRITTEN]
    assert found.reason_station[0].tolist() == [-1, 0, -1]


def test_one_machine_at_two_stations_shares_what_it_takes():
    apart = circuit(
        engine_option("row", involvement=NOTHING_SHARED[0]), engine_option("ski", involvement=NOTHING_SHARED[1])
    )
    twice = circuit(
        engine_option("row", involvement=NOTHING_SHARED[0]), engine_option("row", involvement=NOTHING_SHARED[1])
    )
    same = {"row": (200.0, 15_000.0, 20.0), "ski": (200.0, 15_000.0, 20.0)}
    assert scale(twice, room(twice, engines=same)).dose.sum() < scale(apart, room(apart, engines=same)).dose.sum()


# --- Numbers a coach can call ---


@pytest.mark.parametrize(("most", "dose"), [(23.5, 10.0), (21.5, 9.0), (19.6, 8.0)])
def test_close_to_the_prescription_it_is_the_prescription_where_it_fits(most, dose):
    plan = circuit(movement_option(10.0, seconds=1.0), interval=90.0)
    assert one(plan, most, most_sd=0.0).dose == dose


def test_metres_and_seconds_come_in_steps_that_can_be_called():
    plan = circuit(
        engine_option("row", 400.0, kind="metres"), movement_option(60.0, kind="seconds", setup=0.0), window=60.0
    )
    found = one(plan, 80.0)
    assert found.dose[0, 0] < 400.0
    assert found.dose[0, 0] % 25.0 == 0.0
    assert found.dose[0, 1] % 5.0 == 0.0


# --- The day ---


def test_the_day_is_in_the_headroom_and_in_the_rpe():
    plan = circuit(engine_option("row", 99.0), rotations=6, window=230.0, interval=240.0)
    rated = [scale(plan, room(plan, engine_sd=0.0), day).expected_rpe for day in ("test", "hard", "steady", "easy")]
    # 9.5 − 12.5·h, but for the rounding to a calorie; on a test day the model's own 6 % stay left
    np.testing.assert_allclose(np.ravel(rated), [8.6, 8.25, 6.375, 3.875], atol=0.3)
    assert (np.diff(np.ravel(rated)) < 0).all()


def test_a_day_of_its_own_counts_and_a_gym_can_set_the_others():
    plan = circuit(engine_option("row", 40.0), rotations=10, headroom=0.3)
    easy = {"test": 0.0, "hard": 0.1, "steady": 0.2, "easy": 0.3}
    people = room(plan)
    assert scale(plan, people).dose == scale(plan, people, "easy", headrooms=easy).dose
    assert scale(plan, people).dose < scale(plan, people, "hard").dose


def test_the_reason_says_that_it_is_the_day():
    plan = circuit(movement_option(8.0, seconds=2.0), interval=120.0)
    assert one(plan, 20.0, "hard").reason == Reason.AS_WRITTEN
    assert one(plan, 20.0, "easy").reason == Reason.DAY


# --- Dose or rounds ---


def test_the_most_rounds_as_prescribed_can_be_held_and_one_more_cannot():
    plan = circuit(movement_option(8.0, seconds=2.0), interval=90.0, rotations=20)
    found = one(plan, 16.0)
    holds = int(found.rounds_as_prescribed[0])
    assert 0 < holds < 20
    assert one(replace(plan, rotations=holds), 16.0).dose == 8.0
    assert one(replace(plan, rotations=holds + 1), 16.0).dose < 8.0


def test_scaling_by_rounds_keeps_the_dose_for_half_of_them_at_least():
    plan = circuit(movement_option(8.0, seconds=2.0), interval=90.0, rotations=8, scaling="rounds")
    strong, middle, weak = (one(plan, most) for most in (60.0, 20.0, 10.0))
    assert (strong.dose, strong.rounds, strong.reason) == (8.0, 8, Reason.AS_WRITTEN)
    assert (middle.dose, middle.reason) == (8.0, Reason.ROUNDS)
    assert 4 <= middle.rounds < 8
    assert middle.rounds == middle.rounds_as_prescribed
    by_dose = one(replace(plan, scaling="dose", rotations=4), 10.0)
    assert (weak.dose, weak.rounds) == (by_dose.dose, 4)
    assert weak.dose < 8.0


ROUNDS = circuit(
    movement_option(8.0, involvement=NOTHING_SHARED[0]),
    movement_option(8.0, involvement=NOTHING_SHARED[1]),
    interval=60.0,
    rotations=8,
    scaling="rounds",
)


def test_by_rounds_one_forbidden_movement_is_swapped_and_takes_no_rounds():
    plan = circuit((PULL_UP, RING_ROW), movement_option(8.0, seconds=2.0), interval=90.0, rotations=8, scaling="rounds")
    allowed = np.array([[[False, True], [True, True]]])
    strong = one(plan, [[200, 300], [200, 200]], allowed=allowed)
    assert (strong.rung.tolist(), strong.dose.tolist(), strong.rounds.tolist()) == ([[1, 0]], [[11.0, 8.0]], [[8, 8]])
    assert strong.rounds_as_prescribed == 0
    middle = one(plan, [[20, 300], [14, 14]], allowed=allowed)
    assert (middle.dose.tolist(), middle.reason.tolist()) == ([[11.0, 8.0]], [[Reason.ROUNDS] * 2])
    assert ((middle.rounds >= 4) & (middle.rounds < 8)).all()
    nothing = one(plan, [[20, 300], [14, 14]], allowed=np.array([[[False, False], [True, True]]]))
    assert nothing.rung[0].tolist() == [REST, 0]
    assert nothing.reason[0].tolist() == [Reason.REST, Reason.ROUNDS]
    assert nothing.rounds[0].tolist() == [0, middle.rounds[0, 1]]


def test_by_rounds_who_is_too_weak_for_the_first_rung_keeps_the_dose_of_their_own():
    plan = circuit((PULL_UP, RING_ROW), rotations=8, interval=90.0, scaling="rounds")
    found = one(plan, (0.5, 60.0))
    assert (found.rung, found.dose, found.rounds, found.swap) == (1, 11.0, 8, Swap.TOO_LITTLE)


def test_by_rounds_what_does_not_fit_the_work_time_is_no_reason_to_stop():
    plan = circuit(movement_option(30.0, seconds=2.0), rotations=8, interval=90.0, scaling="rounds")
    assert (one(plan, 300.0).dose, one(plan, 300.0).rounds) == (21.0, 8)
    fewer = one(plan, 50.0)
    assert (fewer.dose, fewer.reason) == (21.0, Reason.TIME)
    assert 4 <= fewer.rounds < 8


def test_by_rounds_the_guard_of_unaccustomed_volume_stands():
    plan = circuit((movement_option(10.0, makes_sore=True), RING_ROW), rotations=8, interval=90.0, scaling="rounds")
    limited = np.array([[[30.0, np.inf]]])
    free, guarded = one(plan, (24.0, 200.0)), one(plan, (24.0, 200.0), most_in_session=limited)
    assert (free.rung, free.reason) == (0, Reason.ROUNDS)
    assert (guarded.rung, guarded.swap, guarded.rounds) == (1, Swap.UNACCUSTOMED, 8)


def test_by_rounds_a_first_time_is_not_moved_back_to_what_is_written():
    plan = circuit((movement_option(10.0), RING_ROW), rotations=8, interval=120.0, scaling="rounds")
    assert one(plan, (20.0, 200.0)).rung == 0
    found = one(plan, (9.0, 200.0), untested=np.array([[[True, False]]]))
    assert (found.rung, found.dose, found.rounds) == (1, 11.0, 8)


def test_by_rounds_the_open_last_round_is_for_who_does_the_real_one():
    plan = circuit(movement_option(8.0, seconds=2.0), interval=90.0, rotations=8, scaling="rounds", open_last=True)
    strong, middle, weak = (one(plan, most) for most in (60.0, 20.0, 10.0))
    assert [found.open_last.item() for found in (strong, middle, weak)] == [True, False, False]
    assert weak.rounds == 4


# --- Cautions ---


def test_an_untested_athlete_gets_two_thirds_at_most():
    plan = circuit(movement_option(12.0, seconds=1.0), movement_option(12.0, seconds=1.0))
    found = one(plan, 200.0, untested=np.array([[[True], [False]]]))
    assert found.dose.tolist() == [[8.0, 12.0]]
    assert found.rounds.tolist() == [[5, 5]]
    assert found.reason.tolist() == [[Reason.UNTESTED, Reason.AS_WRITTEN]]


@pytest.mark.parametrize(("week", "rounds"), [(0, 10), (1, 5), (2, 7), (3, 8), (4, 9)])
def test_a_newcomer_does_fewer_rounds_of_what_neither_makes_sore_nor_needs_skill(week, rounds):
    plan = circuit(LADDER, rotations=10, interval=120.0)
    found = one(plan, 200.0, "hard", newcomer_week=np.array([week]))
    assert (found.rung, found.dose, found.rounds) == ((2, 11.0, rounds) if week else (0, 6.0, 10))
    assert found.swap == (Swap.NEWCOMER if week else Swap.NONE)
    assert found.reason == (Reason.NEWCOMER if week else Reason.AS_WRITTEN)


def test_a_newcomers_hard_day_is_no_harder_than_a_steady_one():
    plan = circuit(engine_option("row", 40.0), rotations=10)
    new = scale(plan, room(plan, newcomer_week=np.array([1])), "hard")
    assert new.dose == scale(plan, room(plan), "steady").dose


def test_first_week_and_first_time_do_not_multiply():
    plan = circuit(movement_option(12.0, seconds=1.0), rotations=8)
    found = one(plan, 200.0, newcomer_week=np.array([1]), untested=np.ones((1, 1, 1), bool))
    # Half of the session in all: two thirds of the dose in three quarters of the rounds
    assert (found.dose, found.rounds) == (8.0, 6)


def test_unaccustomed_volume_goes_down_the_ladder_and_else_takes_rounds():
    plan = circuit(LADDER, rotations=10, interval=120.0)
    limited = np.array([[[30.0, 30.0, np.inf]]])
    found = one(plan, 200.0, most_in_session=limited)
    assert (found.rung, found.swap, found.rounds) == (2, Swap.UNACCUSTOMED, 10)
    only = circuit(PULL_UP, rotations=10, interval=120.0)
    found = one(only, 200.0, most_in_session=np.array([[[30.0]]]))
    assert (found.dose, found.rounds, found.reason) == (6.0, 5, Reason.UNACCUSTOMED)
    assert one(only, 200.0, most_in_session=np.array([[[60.0]]])).rounds == 10


def test_nothing_is_set_for_those_whose_coach_sets_everything_but_by_hand():
    plan = circuit(RING_ROW, engine_option())
    crowd = room(plan, n=2, no_target=np.array([True, False]))
    found = scale(plan, crowd)
    assert found.rung.tolist() == [[REST, REST], [0, 0]]
    assert (found.reason[0] == Reason.NO_TARGET).all()
    assert np.isnan(found.expected_rpe[0])
    by_hand = replace(
        crowd, pinned_rung=np.array([[0, NO_PIN], [NO_PIN] * 2]), pinned_dose=np.array([[5.0, 0], [0, 0]])
    )
    assert scale(plan, by_hand).dose[0].tolist() == [5.0, 0.0]


# --- By hand ---


def by_hand(plan, rung, dose, rounds=None, **more):
    pinned = {"pinned_rung": np.array([rung]), "pinned_dose": np.array([dose], float)}
    return room(plan, pinned_rounds=None if rounds is None else np.array([rounds]), **pinned, **more)


def test_a_target_set_by_hand_stands_and_takes_its_own_first():
    plan = circuit(movement_option(6.0, involvement=PULL), movement_option(8.0, involvement=PULL), rotations=6)
    found = scale(plan, by_hand(plan, [0, NO_PIN], [12.0, 0.0], rounds=[3, 0], most=22.0))
    usual = scale(plan, room(plan, most=22.0))
    assert (found.dose[0, 0], found.rounds[0, 0], found.reason[0, 0]) == (12.0, 3, Reason.BY_HAND)
    assert found.headroom[0, 0] < usual.headroom[0, 0]
    assert found.dose[0, 1] <= usual.dose[0, 1]
    assert found.rounds[0, 1] == 6


def test_a_dose_by_hand_takes_nothing_from_stations_of_other_muscles():
    plan = circuit(
        movement_option(6.0, involvement=NOTHING_SHARED[0]), movement_option(8.0, involvement=NOTHING_SHARED[1])
    )
    found = scale(plan, by_hand(plan, [0, NO_PIN], [500.0, 0.0], most=20.0))
    assert found.dose[0].tolist() == [500.0, scale(plan, room(plan, most=20.0)).dose[0, 1]]
    assert found.headroom[0, 0] < 0.0
    assert found.probability[0, 0] < 0.01


def test_a_rest_by_hand_frees_the_others():
    plan = circuit(movement_option(8.0, involvement=PULL), movement_option(8.0, involvement=PULL), rotations=6)
    found = scale(plan, by_hand(plan, [REST, NO_PIN], [0.0, 0.0], most=22.0))
    assert found.dose[0, 0] == 0.0
    assert found.reason[0, 0] == Reason.BY_HAND
    assert found.dose[0, 1] >= scale(plan, room(plan, most=22.0)).dose[0, 1]


def test_a_rung_by_hand_is_no_swap():
    plan = circuit(LADDER, interval=120.0)
    found = scale(plan, by_hand(plan, [2], [9.0], most=200.0))
    assert (found.rung, found.dose, found.swap) == (2, 9.0, Swap.NONE)


@pytest.mark.parametrize("scaling", ["dose", "rounds"])
def test_a_dose_by_hand_without_rounds_keeps_those_of_a_newcomer(scaling):
    plan = circuit(movement_option(8.0), movement_option(8.0, involvement=NOTHING_SHARED[1]), scaling=scaling)
    new = {"newcomer_week": np.array([1]), "most": 60.0}
    assert scale(plan, room(plan, **new)).rounds.tolist() == [[3, 3]]
    for rounds in (None, [0, 0]):
        found = scale(plan, by_hand(plan, [0, NO_PIN], [6.0, 0.0], rounds, **new))
        assert (found.rounds.tolist(), found.dose[0, 0]) == ([[3, 3]], 6.0)
    assert scale(plan, by_hand(plan, [0, NO_PIN], [6.0, 0.0], [5, 0], **new)).rounds.tolist() == [[5, 3]]


@pytest.mark.parametrize("dose", [5.0, 8.0, 12.0])
def test_by_rounds_a_dose_by_hand_leaves_the_other_stations_as_they_were(dose):
    usual = scale(ROUNDS, room(ROUNDS, most=17.0))
    assert ((usual.dose == 8.0) & (usual.rounds >= 4) & (usual.rounds < 8)).all()
    found = scale(ROUNDS, by_hand(ROUNDS, [0, NO_PIN], [dose, 0.0], [0, 0], most=17.0))
    assert found.dose.tolist() == [[dose, 8.0]]
    assert found.rounds.tolist() == usual.rounds.tolist()
    assert found.reason.tolist() == [[Reason.BY_HAND, Reason.ROUNDS]]
    set_too = scale(ROUNDS, by_hand(ROUNDS, [0, NO_PIN], [dose, 0.0], [8, 0], most=17.0))
    assert set_too.rounds.tolist() == [[8, usual.rounds[0, 1]]]


def test_by_rounds_a_rest_by_hand_leaves_the_others_their_dose():
    found = scale(ROUNDS, by_hand(ROUNDS, [REST, NO_PIN], [0.0, 0.0], most=17.0))
    assert (found.dose.tolist(), found.rounds[0, 0]) == ([[0.0, 8.0]], 0)
    assert found.reason[0, 0] == Reason.BY_HAND
    assert found.rounds[0, 1] >= scale(ROUNDS, room(ROUNDS, most=17.0)).rounds[0, 1]


# --- What is predicted ---


def test_the_open_last_round_is_for_those_without_a_caution():
    plan = circuit(movement_option(8.0, seconds=1.0), open_last=True)
    people = room(
        plan, n=3, most=60.0, newcomer_week=np.array([0, 2, 0]), untested=np.array([0, 0, 1], bool).reshape(3, 1, 1)
    )
    assert scale(plan, people).open_last[:, 0].tolist() == [True, False, False]
    assert not scale(replace(plan, open_last=False), people).open_last.any()


def test_half_of_those_who_are_asked_for_just_what_they_can_do_hold_it():
    plan = circuit(movement_option(100.0, seconds=0.1), rotations=1)
    found = scale(plan, by_hand(plan, [0], [20.0], most=20.0))
    assert found.headroom[0, 0] == pytest.approx(0.0, abs=1e-9)
    assert found.probability[0, 0] == pytest.approx(0.5, abs=1e-6)


def test_two_partners_have_twice_the_rest():
    plan = circuit(movement_option(20.0, seconds=1.0), engine_option("row", 30.0), rotations=10)
    together = replace(plan, partners=2)
    assert (scale(together, room(together)).own_dose > scale(plan, room(plan)).own_dose).all()
    slower = replace(plan, interval_s=120.0)
    assert scale(together, room(together)).own_dose[0, 0] == scale(slower, room(slower)).own_dose[0, 0]


def test_an_empty_room():
    plan = circuit(LADDER, engine_option())
    assert scale(plan, room(plan).take(np.zeros(0, int))).dose.shape == (0, 2)


def test_an_athlete_with_zeros_only_gets_the_easiest_and_one_at_least():
    plan = Circuit((Station(45.0, LADDER), Station(45.0, (movement_option(60.0, kind="seconds"),))), 7)
    found = one(plan, 0.2)
    assert (found.rung[0, 1], found.dose[0, 1]) == (0, 5.0)
    assert found.dose[0, 0] == 1.0
