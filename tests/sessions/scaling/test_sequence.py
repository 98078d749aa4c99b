from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from athletes.capacity.best import (
    best_distance,
    best_power,
    best_time_for_distance,
    best_time_for_distance_sd,
    best_time_for_kcal,
)
from athletes.capacity.ergometer import metres_in, pace_from_watts
from athletes.capacity.people import People
from athletes.capacity.priors import engine_prior
from sessions.scaling.demand import fade
from sessions.scaling.engine import hold_power
from sessions.scaling.pacing import pace_sequence
from sessions.scaling.sequence import Leg, Sequence

CENTRES = {
    "row": (200.0, 15_000.0, 20.0),
    "ski": (180.0, 14_000.0, 18.0),
    "bike": (210.0, 17_000.0, 12.0),
    "run": (3.6, 170.0, 28.0),
}
KINDS = {"run": ("metres", "seconds"), "bike": ("kcal", "seconds")}
AMOUNTS = {"metres": (100.0, 2000.0), "kcal": (5.0, 80.0), "seconds": (15.0, 600.0)}
FLOAT = 1e-8  # relative; what is left to the root finders


def athletes(n=4, seed=0):
    """Unlike athletes, by engine (n, 3)."""
    rng = np.random.default_rng(seed)
    return {engine: np.log(centre) + rng.normal(size=(n, 3)) * [0.3, 0.4, 0.4] for engine, centre in CENTRES.items()}


def untested(engine_cov=False):
    """One athlete of whom nothing is known."""
    priors = {engine: engine_prior(engine, People.of("", np.nan)) for engine in CENTRES}
    return {engine: prior[int(engine_cov)] for engine, prior in priors.items()}


def metres(engine, amount, rest=0.0):
    return Leg(engine, "metres", amount, rest)


def kilometres(*engines, times=3, headroom=0.0):
    return Sequence(tuple(metres(engine, 1000.0) for engine in engines), times, headroom)


def run_and_row(times=4, headroom=0.0):
    """800 m run, 750 m row, four times."""
    return Sequence((metres("run", 800.0), metres("row", 750.0)), times, headroom)


@st.composite
def sequences(draw, engines=tuple(CENTRES), rests=(0.0, 30.0, 90.0)):
    legs = []
    for engine in draw(st.lists(st.sampled_from(engines), min_size=1, max_size=4)):
        kind = draw(st.sampled_from(KINDS.get(engine, tuple(AMOUNTS))))
        legs.append(Leg(engine, kind, draw(st.floats(*AMOUNTS[kind])), draw(st.sampled_from(rests))))
    return Sequence(tuple(legs), draw(st.integers(1, 5)), draw(st.floats(0.0, 0.5)))


# --- Where the answer is known ---


@pytest.mark.parametrize("amount", [100.0, 500.0, 2000.0, 5000.0])
@pytest.mark.parametrize("engine", ["row", "ski", "run"])
def test_one_leg_alone_without_headroom_is_the_best_effort(engine, amount):
    people = athletes()
    pacing = pace_sequence(Sequence((metres(engine, amount),), headroom=0.0), people)
    expected = best_time_for_distance(engine, amount, people[engine])
    np.testing.assert_allclose(pacing.seconds[:, 0], expected, rtol=1e-13)
    np.testing.assert_allclose(pacing.level, 1.0, rtol=1e-13)
    np.testing.assert_allclose(pacing.of_best, 1.0, rtol=1e-13)


def test_one_leg_of_calories_or_of_a_time_without_headroom_is_the_best_effort():
    people = athletes()
    by_kcal = pace_sequence(Sequence((Leg("bike", "kcal", 30.0, kcal_base=0.0),), headroom=0.0), people)
    np.testing.assert_allclose(by_kcal.total_s, best_time_for_kcal(30.0, people["bike"], base=0.0), rtol=1e-13)
    by_time = pace_sequence(Sequence((Leg("ski", "seconds", 90.0),), headroom=0.0), people)
    np.testing.assert_allclose(by_time.hold[:, 0], best_power(90.0, people["ski"]), rtol=1e-13)
    assert (by_time.total_s == 90.0).all()


def test_headroom_of_one_leg_is_left_of_all_the_power():
    people = athletes()
    pacing = pace_sequence(Sequence((Leg("row", "seconds", 120.0),), headroom=0.2), people)
    critical_power, w_prime, ramp = np.exp(people["row"].T)
    np.testing.assert_allclose(pacing.hold[:, 0], 0.8 * (critical_power + w_prime / (120.0 + ramp)), rtol=1e-12)


@pytest.mark.parametrize(("amounts", "times"), [((500.0, 500.0), 1), ((500.0,), 2), ((250.0, 250.0), 2)])
@pytest.mark.parametrize("engine", ["row", "run"])
def test_legs_on_one_engine_without_rest_are_one_long_leg(engine, amounts, times):
    people = athletes()
    parts = pace_sequence(Sequence(tuple(metres(engine, a) for a in amounts), times, 0.0), people)
    whole = best_time_for_distance(engine, times * sum(amounts), people[engine])
    np.testing.assert_allclose(parts.total_s, whole, rtol=FLOAT)


def test_equal_legs_with_rests_are_the_circuit_of_one_station():
    people = athletes()
    pacing = pace_sequence(Sequence((Leg("row", "seconds", 40.0, rest_s=80.0),), 10, 0.15), people)
    expected = hold_power(*np.exp(people["row"].T), 40.0, 10, 120.0, 0.0, 0.15)
    np.testing.assert_allclose(pacing.hold[:, -1], expected, rtol=FLOAT)


# --- Several engines ---


def loads(sequence, pacing, theta, athlete):
    """Load of one athlete at the end of each leg, summed leg by leg as the method is written down."""
    legs = sequence.legs * sequence.times
    par = [np.exp(theta[leg.engine][athlete]) for leg in legs]
    hold, seconds = pacing.hold[athlete] / (1.0 - sequence.headroom), pacing.seconds[athlete]
    asked = [(p - cp) * t / w for p, t, (cp, w, _) in zip(hold, seconds, par, strict=True)]
    found = []
    for i, (leg, (cp, w, k)) in enumerate(zip(legs, par, strict=True)):
        load = k / seconds[i] * asked[i]
        for j in range(i + 1):
            rest_s = sum(between.rest_s for between in legs[j:i])
            load += (1.0 if legs[j].engine == leg.engine else 0.3) * asked[j] * fade(rest_s, 4.0 * w / cp)
        found.append(load)
    return found


@settings(max_examples=20, deadline=None)
@given(sequences())
def test_with_the_headroom_used_the_hardest_leg_ends_with_nothing_left(sequence):
    people = athletes()
    pacing = pace_sequence(sequence, people)
    for athlete in range(4):
        assert max(loads(sequence, pacing, people, athlete)) == pytest.approx(1.0, rel=FLOAT)


def test_every_leg_asks_the_same_share_of_what_lies_above_critical_power():
    people = athletes()
    pacing = pace_sequence(run_and_row(), people)
    for leg, engine in enumerate(("run", "row") * 4):
        critical_power, best = np.exp(people[engine][:, 0]), best_power(pacing.seconds[:, leg], people[engine])
        share = (pacing.hold[:, leg] - critical_power) / (best - critical_power)
        np.testing.assert_allclose(share, pacing.level, rtol=FLOAT)
        np.testing.assert_allclose(pacing.of_best[:, leg], pacing.hold[:, leg] / best, rtol=1e-12)
    np.testing.assert_array_equal(pacing.seconds[:, :2], pacing.seconds[:, 6:])


def test_two_engines_in_turn_lie_between_one_engine_throughout_and_rest_instead_of_the_other():
    people = athletes(20)
    in_turn = pace_sequence(kilometres("ski", "row"), people).seconds[:, 0]
    throughout = pace_sequence(kilometres("ski", times=6), people).seconds[:, 0]
    rested = pace_sequence(Sequence((metres("ski", 1000.0, rest=240.0),), 3, 0.0), people).seconds[:, 0]
    assert (rested < in_turn).all()
    assert (in_turn < throughout).all()


def test_a_row_after_hard_runs_is_no_faster_than_a_long_row_alone():
    # Four times 800 m run and 750 m row take about 31 minutes: slower than 2,000 m alone, which takes 8 to 10, on
    # either engine, and no slower than 6,000 m on one of them all the way.
    pacing, people = pace_sequence(run_and_row(), untested()), untested()
    for leg, (engine, metres_of_leg) in enumerate((("run", 800.0), ("row", 750.0))):
        short, long = (best_time_for_distance(engine, d, people[engine])[0] / d for d in (2000.0, 6000.0))
        assert short * 1.02 < pacing.seconds[0, leg] / metres_of_leg < long
    assert 1500.0 < pacing.total_s[0] < 2000.0


# --- What may never happen ---


def no_faster(easier, harder):
    """Whether each leg of a first round is no faster in the harder sequence than in the easier one."""
    before, after = (pace_sequence(sequence, athletes()) for sequence in (easier, harder))
    first = slice(len(easier.legs))
    slow = after.seconds[:, first] >= before.seconds[:, first] * (1 - FLOAT)
    return (slow & (after.hold[:, first] <= before.hold[:, first] * (1 + FLOAT))).all()


@settings(max_examples=20, deadline=None)
@given(sequences(), st.floats(0.0, 0.9))
def test_more_rounds_or_more_headroom_never_make_it_faster(sequence, headroom):
    assert no_faster(sequence, replace(sequence, times=sequence.times + 1))
    assert no_faster(sequence, replace(sequence, headroom=max(headroom, sequence.headroom)))


@settings(max_examples=20, deadline=None)
@given(sequences(), st.floats(0.0, 600.0), st.data())
def test_less_rest_never_makes_it_faster(sequence, rest_s, data):
    at = data.draw(st.integers(0, len(sequence.legs) - 1))
    legs = list(sequence.legs)
    legs[at] = replace(legs[at], rest_s=legs[at].rest_s + rest_s)
    assert no_faster(replace(sequence, legs=tuple(legs)), sequence)


def slower(sequence, people, gains):
    """By how much the slowest leg and the total are slower with gains in the logarithms, by engine; 0 or less: not."""
    before = pace_sequence(sequence, people)
    after = pace_sequence(sequence, {engine: theta + gains.get(engine, 0.0) for engine, theta in people.items()})
    legs = max((after.seconds / before.seconds).max(), (before.hold / after.hold).max()) - 1.0
    return legs, (after.total_s / before.total_s).max() - 1.0


@settings(max_examples=20, deadline=None)
@given(sequences(), st.sampled_from(list(CENTRES)), st.floats(0.0, 0.4), st.booleans())
def test_a_stronger_engine_never_makes_any_leg_slower(sequence, engine, gain, all_of_it):
    gained = np.array([gain, gain if all_of_it else 0.0, 0.0])  # CP, or CP and W' together
    assert slower(sequence, athletes(), {engine: gained})[0] < FLOAT


@settings(max_examples=20, deadline=None)
@given(st.sampled_from(list(CENTRES)).flatmap(lambda e: sequences(engines=(e,))), st.floats(0.0, 0.4))
def test_more_work_above_critical_power_never_makes_any_leg_on_one_engine_slower(sequence, gain):
    gains = {engine: np.array([0.0, gain, 0.0]) for engine in CENTRES}
    assert slower(sequence, athletes(), gains)[0] < FLOAT


@settings(max_examples=20, deadline=None)
@given(sequences(rests=(0.0,)), st.sampled_from(list(CENTRES)), st.floats(0.0, 0.4))
def test_nor_without_rest_any_leg_on_several_engines(sequence, engine, gain):
    assert slower(sequence, athletes(), {engine: np.array([0.0, gain, 0.0])})[0] < FLOAT


@settings(max_examples=20, deadline=None)
@given(sequences(), st.sampled_from(list(CENTRES)), st.floats(0.0, 0.2))
def test_one_gain_that_shifts_the_balance_costs_the_whole_next_to_nothing(sequence, engine, gain):
    # W' alone comes back more slowly, and a shorter ramp makes short legs harder: with one common level that may cost
    # the other legs a little.
    assert slower(sequence, athletes(), {engine: np.array([0.0, gain, -gain])})[1] < 0.03


@settings(max_examples=20, deadline=None)
@given(sequences())
def test_figures_are_finite_and_belong_together(sequence):
    pacing = pace_sequence(sequence, athletes(), {e: np.full((4, 3, 3), 0.01) for e in CENTRES})
    legs = sequence.legs * sequence.times
    assert ((pacing.level > 0.0) & (pacing.level <= 1.0 + FLOAT)).all()
    assert np.isfinite(pacing.sd_log).all()
    rests = np.array([leg.rest_s for leg in legs])
    np.testing.assert_allclose(pacing.ends_s, np.cumsum(pacing.seconds, -1) + np.cumsum(rests) - rests)
    np.testing.assert_array_equal(pacing.total_s, pacing.ends_s[:, -1])
    for i, leg in enumerate(legs):
        hold, seconds = pacing.hold[:, i], pacing.seconds[:, i]
        run = leg.engine == "run"
        if leg.kind == "metres":
            np.testing.assert_allclose(hold * seconds if run else metres_in(seconds, hold), leg.amount, rtol=FLOAT)
        if leg.engine == "bike":
            assert np.isnan(pacing.pace_s[:, i]).all()
        else:
            np.testing.assert_allclose(pacing.pace_s[:, i], 1000.0 / hold if run else pace_from_watts(hold))


# --- How sure it is ---


def test_the_spread_of_one_leg_is_that_of_the_best_effort():
    people, spread = athletes(), {"row": np.tile(np.diag([0.03, 0.1, 0.1]) ** 2, (4, 1, 1))}
    pacing = pace_sequence(Sequence((metres("row", 1000.0),), headroom=0.0), people, spread)
    expected = best_time_for_distance_sd("row", 1000.0, people["row"], spread["row"])
    np.testing.assert_allclose(pacing.sd_log, expected, rtol=0.01)


def test_the_spread_of_several_engines_is_that_of_athletes_who_are_off_to_the_same_side():
    people, spread = untested(), {engine: 0.25 * cov for engine, cov in untested(engine_cov=True).items()}
    sequence = Sequence((metres("row", 1000.0, rest=60.0), metres("ski", 1000.0, rest=60.0)), 3)
    drawn = np.random.default_rng(5).normal(size=(4000, 3))  # the same for both engines
    crowd = {e: people[e] + drawn @ np.linalg.cholesky(spread[e][0]).T for e in ("row", "ski")}
    expected = np.log(pace_sequence(sequence, crowd).total_s).std()
    assert pace_sequence(sequence, people, spread).sd_log[0] == pytest.approx(expected, rel=0.05)


def test_without_a_covariance_nothing_is_said_of_the_spread():
    assert (pace_sequence(kilometres("row"), athletes()).sd_log == 0.0).all()


def test_what_the_curve_does_not_reach_is_marked():
    def rough(*legs, times=1):
        return bool(pace_sequence(Sequence(legs, times), untested()).rough[0])

    assert not rough(metres("row", 1000.0))
    assert rough(metres("row", 50.0))
    assert rough(Leg("row", "seconds", 1260.0))
    assert rough(Leg("row", "seconds", 300.0), Leg("ski", "seconds", 300.0), times=3)  # 30 minutes without a rest
    assert not rough(Leg("row", "seconds", 300.0, rest_s=60.0), Leg("ski", "seconds", 300.0), times=3)


def test_athletes_do_not_inform_each_other():
    people, sequence = athletes(30), kilometres("run", "ski", "row", times=2)
    together = pace_sequence(sequence, people).total_s
    alone = [pace_sequence(sequence, {e: theta[i : i + 1] for e, theta in people.items()}).total_s for i in range(30)]
    np.testing.assert_allclose(together, np.concatenate(alone), rtol=FLOAT)


def test_how_far_and_how_fast_agree_for_a_leg_of_a_time():
    people = athletes()
    pacing = pace_sequence(Sequence((Leg("run", "seconds", 240.0),), headroom=0.0), people)
    np.testing.assert_allclose(pacing.hold[:, 0] * 240.0, best_distance("run", 240.0, people["run"]), rtol=1e-12)


# --- What is refused ---


@pytest.mark.parametrize(
    ("sequence", "sentence"),
    [
        (Sequence(()), "Add a leg"),
        (Sequence((metres("row", 0.0),)), "Leg 1: The distance must be between 10 and 42195 metres."),
        (Sequence((metres("row", 500.0), metres("row", float("nan")))), "Leg 2: The distance must be between"),
        (Sequence((Leg("ski", "kcal", -3.0),)), "Leg 1: The dose must be between 1 and 2000 calories."),
        (Sequence((Leg("ski", "seconds", 9000.0),)), "Leg 1: The time must be between 5 and 7200 seconds."),
        (Sequence((metres("swim", 100.0),)), "Choose an engine: row, ski, bike, run."),
        (Sequence((metres("bike", 1000.0),)), "Give the bike in calories or as a time"),
        (Sequence((Leg("run", "kcal", 20.0),)), "Give a run in metres or as a time"),
        (Sequence((Leg("row", "strokes", 20.0),)), "Give it in metres, in calories or as a time."),
        (Sequence((metres("row", 500.0, rest=-1.0),)), "The rest after it must be between 0 and 1800 seconds."),
        (Sequence((metres("row", 500.0),), times=0), "The number of repeats must be between 1 and 40."),
        (Sequence((metres("row", 500.0),), times=2.5), "whole numbers"),
        (Sequence((metres("row", 500.0),) * 8, times=8), "That makes 64 legs, and 60 is the most"),
        (Sequence((metres("row", 500.0),), headroom=1.0), "The headroom must be between 0 and 0.9."),
        (Sequence((Leg("row", "kcal", 20.0, kcal_slope=0.0),)), "calorie formula"),
    ],
)
def test_a_sequence_that_cannot_be_paced(sequence, sentence):
    with pytest.raises(ValueError, match=sentence.replace("(", r"\(")):
        pace_sequence(sequence, athletes())


@pytest.mark.parametrize("broken", [{"row": np.full((4, 3), np.nan)}, {}])
def test_an_estimate_that_is_missing(broken):
    people = {**{engine: theta for engine, theta in athletes().items() if engine != "row"}, **broken}
    with pytest.raises(ValueError, match="no estimate of an athlete's row: enter a benchmark"):
        pace_sequence(kilometres("ski", "row"), people)
