"""What logs say: the coach's double progression, and what it does to targets over weeks."""

import numpy as np
import pytest

from sessions.scaling.logged import (
    MISS_STEP,
    MOST_LIFT,
    MOST_STEP,
    OPEN_SD,
    Asked,
    Logged,
    read_log,
)
from sessions.scaling.scale import scale
from tests.sessions.scaling.builders import NOTHING_SHARED, changed, circuit, engine_option, movement_option, room

PLAN = circuit(
    engine_option("row", 30.0, involvement=NOTHING_SHARED[0]),
    movement_option(30.0, seconds=1.0, involvement=NOTHING_SHARED[1]),
    movement_option(4.0, seconds=1.0, involvement=NOTHING_SHARED[2]),
    rotations=6,
)
PEOPLE = room(PLAN)


def said(rpe=np.nan, dose=None, rounds=None, open_last=None, untested=False, plan=PLAN, people=PEOPLE, intent="hard"):
    """What one athlete's log says; by default all was done as asked."""
    targets = scale(plan, people, intent)
    asked = Asked.of(targets, np.full(targets.dose.shape, untested))
    nothing = np.full(targets.dose.shape, np.nan)
    logged = Logged(
        rounds=targets.rounds.astype(float) if rounds is None else np.array([rounds], float),
        dose=targets.dose if dose is None else np.array([dose], float),
        rpe=np.array([rpe]),
        open_last=nothing if open_last is None else np.array([open_last], float),
    )
    return targets, read_log(plan, asked, logged)


def test_as_asked_at_the_rpe_expected_changes_nothing():
    expected = scale(PLAN, PEOPLE, "hard").expected_rpe[0]
    for rpe in (expected, expected - 0.9, expected + 0.9, np.nan):
        assert (said(rpe)[1].step == 0.0).all()


def test_a_light_session_raises_and_a_heavy_one_lowers_what_was_near_the_limit():
    targets, up = said(3.0)
    # By hand: 0.2·(8.25 − 3) / 12.5 = 0.084, at most 0.06; the third station, far from its limit, hears nothing
    assert up.step[0, 0] == pytest.approx(MOST_STEP)
    assert targets.headroom[0, 2] > 0.4
    assert up.step[0, 2] == 0.0
    down = said(10.0)[1].step
    expected = targets.expected_rpe[0]
    assert down[0].min() == pytest.approx(0.2 * (expected - 10.0) / 12.5)


def test_a_miss_lowers_its_own_station_and_no_other():
    targets = scale(PLAN, PEOPLE, "hard")
    rounds = targets.rounds[0].astype(float)
    rounds[1] -= 2
    step = said(targets.expected_rpe[0], rounds=rounds)[1].step
    assert step.tolist() == [[0.0, -MISS_STEP, 0.0]]
    less = targets.dose[0] - [0.0, 1.0, 0.0]
    assert said(dose=less)[1].step.tolist() == [[0.0, -MISS_STEP, 0.0]]


def test_more_than_asked_lifts_to_what_was_shown():
    targets = scale(PLAN, PEOPLE, "hard")
    more = targets.dose[0] + [0.0, 1.0, 2.0]
    step = said(dose=more)[1].step
    assert step[0, 1] == pytest.approx(np.log(more[1] / targets.own_dose[0, 1]))
    assert step[0, 2] == 0.0  # six of what allows far more shows nothing
    assert said(dose=targets.dose[0] * 3.0)[1].step.max() == MOST_LIFT


def test_what_was_not_logged_says_nothing():
    targets = scale(PLAN, PEOPLE, "hard")
    silent = said(10.0, dose=[np.nan] * 3)[1]
    assert (silent.step == 0.0).all()
    assert np.isnan(silent.measured).all()
    assert targets.dose.min() > 0


@pytest.mark.parametrize("broken", [{"rpe": 11.0}, {"rpe": -1.0}, {"dose": [-1.0, 5.0, 5.0]}])
def test_impossible_logs_are_refused(broken):
    with pytest.raises(ValueError, match="correct the log"):
        said(**broken)


# --- Measurements ---


def test_an_open_last_round_measures():
    plan = circuit(movement_option(10.0, seconds=1.0), rotations=6, open_last=True)
    people = room(plan, most=40.0, most_sd=0.0)
    targets = scale(plan, people)
    x, g = 10.0 / 40.0, targets.demand[0, 0, 0]
    # Who is just as able as assumed has 1 − (g − 1)·x of the best left for the last set, and stops one short
    able = 40.0 * (1.0 - (g - 1.0) * x) - 1.0
    _, found = said(open_last=[able], plan=plan, people=people, intent=None)
    assert found.measured[0, 0] == pytest.approx(0.0, abs=1e-9)
    assert found.measured_sd[0, 0] == OPEN_SD
    _, more = said(open_last=[able + 5.0], plan=plan, people=people, intent=None)
    assert more.measured[0, 0] == pytest.approx(np.log(((g - 1.0) * 10.0 + able + 6.0) / 40.0))


def test_an_open_last_round_of_an_engine_finds_the_athlete():
    plan = circuit(engine_option("row", 10.0), rotations=6, open_last=True)
    assumed = room(plan)
    targets = scale(plan, assumed)
    for gain in (-0.1, 0.15):
        # The capacity of e^gain as much has so much left for a last set
        cp, w = 200.0 * np.exp(gain), 15_000.0 * np.exp(gain)
        g = targets.demand[0, 0, 0]
        before = (g - 1.0) * max(targets.hold[0, 0] - cp, 0.0) * 42.0 / w
        watts = cp + (1.0 - before) * w / 42.0
        _, found = said(open_last=[(300.0 + 3.4416 * watts) * 42.0 / 3600.0], plan=plan, people=assumed, intent=None)
        assert found.measured[0, 0] == pytest.approx(gain, abs=1e-6)


def test_the_first_session_of_somebody_untested_is_a_measurement():
    targets, found = said(8.25, untested=True)
    near = targets.headroom[0].argmin()
    assert found.measured[0, near] == pytest.approx(np.log((1.0 - targets.headroom[0, near]) / 0.9))
    assert (found.step[~np.isnan(found.measured)] == 0.0).all()
    light = said(3.0, untested=True)[1].measured[0, near]
    assert light > found.measured[0, near]
    half = np.where(np.arange(3) == near, 3.0, 6.0)
    short = said(9.0, rounds=half, untested=True)[1]
    assert short.measured[0, near] < 0.0
    assert short.measured_sd[0, near] < found.measured_sd[0, near] + 0.1


# --- Over weeks: a simulated athlete, whose true capacity differs, on a circuit of repetitions. The steps are added up
# here as they come; how they are bounded and forgotten is tested with the sum itself. ---


def weeks(true_gain, sessions, intent="hard", rate=None):
    """Doses over sessions, relative to the right one; the athlete rates by what is truly left, or by `rate`."""
    plan = circuit(movement_option(60.0, seconds=0.5), rotations=6, interval=90.0)
    right = scale(plan, room(plan, most=60.0 * np.exp(true_gain), most_sd=0.05), intent).own_dose[0, 0]
    level, doses = 0.0, []
    for _ in range(sessions):
        people = changed(room(plan, most=60.0, most_sd=0.05), level)
        targets = scale(plan, people, intent)
        doses.append(targets.dose[0, 0] / right)
        used = (1.0 - targets.headroom) * np.exp(level - true_gain)
        rpe = np.clip(9.5 - 12.5 * (1.0 - used[0]), 1.0, 10.0) if rate is None else np.array([rate])
        done = np.where(used > 1.0, targets.rounds - 1.0, targets.rounds)
        logged = Logged(done.astype(float), targets.dose, np.atleast_1d(rpe), np.full((1, 1), np.nan))
        level += read_log(plan, Asked.of(targets, np.zeros((1, 1), bool)), logged).step[0, 0]
    return np.array(doses)


def test_an_underrated_athlete_reaches_nine_tenths_in_six_weeks_without_a_retest():
    doses = weeks(0.35, 13)  # two sessions a week
    assert doses[0] < 0.75
    assert doses[12] > 0.88
    assert (np.diff(doses) >= 0).all()


def test_misses_lower_the_dose_within_two_sessions():
    doses = weeks(-0.25, 8)
    assert doses[2] < doses[0]
    assert doses[-1] < 1.12


def test_a_rightly_rated_athlete_stays():
    doses = weeks(0.0, 20)
    assert np.abs(doses / doses[0] - 1.0).max() < 0.06


@pytest.mark.parametrize(("rate", "way"), [(10.0, -1.0), (3.0, 1.0)])
def test_always_too_hard_or_too_light_moves_the_dose_within_four_sessions(rate, way):
    doses = weeks(0.0, 5, rate=rate)
    assert way * (doses[4] - doses[0]) > 0


def test_engines_hear_logs_too():
    plan = circuit(engine_option("row", 40.0), rotations=8)
    weak, strong = room(plan), changed(room(plan), said(2.0, plan=plan, people=room(plan))[1].step[0, 0])
    assert scale(plan, strong).own_dose > scale(plan, weak).own_dose
