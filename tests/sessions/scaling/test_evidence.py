from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from athletes.capacity.power_duration import power
from sessions.scaling.engine import dose_at_power, hold_power
from sessions.scaling.evidence import HEARD_SHARE, MOST_SHIFT, Logged, evidence
from sessions.scaling.exertion import share_sd, share_used
from sessions.scaling.fade import fade
from sessions.scaling.scale import scale
from tests.sessions.scaling.builders import (
    NOTHING_SHARED,
    circuit,
    circuits,
    engine_option,
    movement_option,
    room,
    rooms,
)

PULL, PUSH, SQUAT = NOTHING_SHARED[0], NOTHING_SHARED[1], NOTHING_SHARED[3]
ROW = {"row": (200.0, 15_000.0, 20.0)}


def logged(plan, people, rpe=np.nan, done=None, rounds=None, asked=None):
    """Everyone did what they were asked (or `done`, `rounds`), at an RPE."""
    targets = scale(plan, people)
    dose = targets.dose if asked is None else np.broadcast_to(np.asarray(asked, float), targets.dose.shape)
    return Logged(
        rung=targets.rung,
        dose=dose,
        demand=targets.demand,
        rounds=np.broadcast_to(np.asarray(plan.rotations if rounds is None else rounds, float), dose.shape),
        done_dose=np.broadcast_to(np.asarray(dose if done is None else done, float), dose.shape),
        rpe=np.broadcast_to(np.asarray(rpe, float), dose.shape[:1]),
    )


def heard(plan, people=None, **log):
    people = room(plan, engines=ROW, engine_sd=0.0, most_sd=0.0) if people is None else people
    return evidence(plan, people, logged(plan, people, **log))


def kcal(watts, window_s):
    return dose_at_power(watts, window_s, True, False, 300.0, 3.4416)


def one(array):
    return float(array[0, 0])


# --- Numbers worked out by hand ---


def test_one_round_to_exhaustion_is_the_effort_itself():
    plan = circuit(engine_option(dose=40.0), rotations=1)
    watts = 200.0 + 15_000.0 / (42.0 + 20.0)
    said = heard(plan, rpe=10.0, asked=kcal(watts, 42.0))
    assert one(said.power_w) == pytest.approx(441.935, abs=1e-3)
    assert one(said.duration_s) == pytest.approx(42.0)
    assert np.isnan(said.repetitions).all()


@pytest.mark.parametrize("rounds", [1, 2, 5, 12])
def test_exactly_the_true_hold_power_lies_on_the_true_curve(rounds):
    plan = circuit(engine_option(dose=60.0), rotations=rounds)
    watts = hold_power(*ROW["row"], 42.0, rounds, 60.0, 0.0, 0.0)
    for log in ({"rpe": 10.0}, {"done": kcal(watts, 42.0), "asked": kcal(watts + 20.0, 42.0)}):
        said = heard(plan, **({"asked": kcal(watts, 42.0)} | log))
        assert one(said.power_w) == pytest.approx(watts)
        assert power(one(said.duration_s), *ROW["row"]) == pytest.approx(watts)


def test_what_the_rating_expected_says_what_is_believed():
    plan = circuit(movement_option(dose=16.0), rotations=1)
    said = heard(plan, rpe=8.0, asked=16.0)  # of 20: a share of 0.8
    assert one(said.repetitions) == pytest.approx(20.0)
    # 0.13·1.2 from the rating, 8 % of the 0.8 from the day; as a share of the 0.8
    assert one(said.sd_log) == pytest.approx(np.hypot(0.156, 0.064) / 0.8)
    assert np.isnan(said.power_w).all()
    assert np.isnan(said.duration_s).all()


def test_one_point_is_a_tenth_of_the_capacity():
    plan = circuit(movement_option(dose=16.0), rotations=1)
    assert one(heard(plan, rpe=9.0, asked=16.0).repetitions) == pytest.approx(20.0 * np.exp(-0.1 / 0.8))
    assert one(heard(plan, rpe=7.0, asked=16.0).repetitions) == pytest.approx(20.0 * np.exp(0.1 / 0.8))


def test_an_engines_margin_is_that_of_its_power():
    # L = (P − CP)·w·G/W' falls by L + CP·w·G/W' when all capacities grow by a unit of the logarithm
    plan = circuit(engine_option(dose=40.0), rotations=1)
    watts = 200.0 + 0.8 * 15_000.0 / 62.0
    said = heard(plan, rpe=7.0, asked=kcal(watts, 42.0))
    assert one(said.power_w) == pytest.approx(watts * np.exp(0.1 / (0.8 + 200.0 * 62.0 / 15_000.0)))


def test_a_set_that_fell_short_is_the_best_itself():
    plan = circuit(movement_option(dose=20.0), rotations=1)
    said = heard(plan, done=12.0, asked=20.0)
    assert one(said.repetitions) == pytest.approx(12.0)
    assert one(said.sd_log) == pytest.approx(np.hypot(0.08, 0.08))


def test_a_second_round_that_was_missed_lies_between_one_and_two():
    plan = circuit(movement_option(dose=14.0), rotations=2)
    said = heard(plan, rounds=1.0, asked=14.0)
    assert one(said.repetitions) == pytest.approx(14.0 * (1.0 + 0.5 * fade(60.0, 90.0)))


def test_what_others_cost_is_not_left_for_a_station_that_missed():
    # A pull set just before takes 0.3·fade(60 s)·(8/20) of the capacity that the missed one had.
    plan = circuit(movement_option(dose=8.0), movement_option(dose=20.0), rotations=1)
    plan = replace(plan, stations=tuple(_involving(station, PULL) for station in plan.stations))
    said = heard(plan, asked=[[8.0, 20.0]], done=[[8.0, 12.0]])
    assert np.isnan(said.repetitions[0, 0])
    assert said.repetitions[0, 1] == pytest.approx(12.0 / (1.0 - 0.3 * fade(60.0, 90.0) * 8.0 / 20.0))


def _involving(station, involvement):
    return replace(station, options=(replace(station.options[0], involvement=involvement),))


# --- Which stations are heard ---


def test_only_the_hardest_station_is_heard_where_it_is_plain():
    plan = circuit(movement_option(dose=16.0, involvement=PULL), movement_option(dose=4.0, involvement=SQUAT))
    said = heard(plan, rpe=9.0, rounds=5.0, asked=[[12.0, 2.0]])
    assert np.isfinite(said.repetitions).tolist() == [[True, False]]


def test_a_surprise_moves_the_capacity_that_is_less_sure():
    plan = circuit(
        movement_option(dose=16.0, involvement=PULL), movement_option(dose=16.0, involvement=SQUAT), rotations=1
    )
    people = replace(room(plan), repetitions_sd=np.array([[[0.05], [0.40]]]))
    said = heard(plan, people, rpe=9.5, asked=12.0)
    gain = people.repetitions_sd[..., 0] ** 2 / (people.repetitions_sd[..., 0] ** 2 + said.sd_log**2)
    moved = gain * np.log(said.repetitions / 20.0)
    assert -0.02 < moved[0, 0] < 0.0
    assert moved[0, 1] < 3.0 * moved[0, 0]


def test_the_rating_of_a_session_with_a_miss_is_not_heard():
    plan = circuit(movement_option(dose=16.0, involvement=PULL), movement_option(dose=16.0, involvement=SQUAT))
    said = [heard(plan, rpe=rpe, rounds=[[5.0, 3.0]], asked=9.0) for rpe in (4.0, 10.0, np.nan)]
    for other in said:
        assert np.isnan(other.repetitions[0, 0])
        assert other.repetitions[0, 1] == said[0].repetitions[0, 1]


def test_without_a_rating_only_misses_speak():
    plan = circuit(movement_option(), engine_option())
    assert np.isnan(heard(plan).sd_log).all()


def test_rest_and_what_was_not_done_say_nothing():
    plan = circuit(movement_option(involvement=PULL), movement_option(involvement=SQUAT), movement_option())
    people = room(plan, allowed=np.array([[[True], [True], [False]]]))
    said = heard(plan, people, rpe=9.0, rounds=[[5.0, 0.0, 5.0]])
    assert np.isfinite(said.repetitions).tolist() == [[True, False, False]]
    assert np.isnan(heard(plan, people, rpe=9.0, done=0.0).sd_log).all()


def test_a_rating_is_not_heard_when_it_may_be_of_a_station_that_was_not_logged():
    plan = circuit(movement_option(involvement=PULL), movement_option(involvement=SQUAT))
    said = heard(plan, rpe=9.0, rounds=[[5.0, np.nan]])
    assert np.isnan(said.sd_log).all()


def test_a_session_that_should_be_easy_is_not_heard_by_its_rating():
    plan = circuit(movement_option(dose=16.0), rotations=1)
    assert np.isnan(heard(plan, rpe=9.0, asked=7.0).sd_log).all()
    assert np.isfinite(heard(plan, rpe=9.0, asked=9.0).sd_log).all()


def test_more_than_is_believed_possible_was_possible():
    plan = circuit(movement_option(dose=40.0), rotations=1)
    assert one(heard(plan, rpe=10.0, asked=16.0, done=25.0).repetitions) == pytest.approx(25.0)


def test_a_light_load_says_nothing_of_the_maximum():
    plan = circuit(movement_option(dose=20.0, kind="load_repetitions", load=20.0), rotations=1)
    assert np.isnan(heard(plan, room(plan, most=30.0), rpe=9.0, asked=20.0).sd_log).all()
    assert np.isfinite(heard(plan, room(plan, most=25.0), rpe=9.0, asked=20.0).sd_log).all()


def test_the_rung_that_was_done_is_the_one_that_is_read():
    plan = circuit((movement_option(dose=10.0), engine_option("ski", dose=14.0)))
    people = room(plan, allowed=np.array([[[False, True]]]))
    said = heard(plan, people, rpe=9.0)
    assert np.isfinite(said.power_w).all()
    assert np.isnan(said.repetitions).all()


def test_a_power_below_the_critical_one_that_could_not_be_held_lowers_it():
    plan = circuit(engine_option(dose=40.0), rotations=8)
    said = heard(plan, asked=kcal(250.0, 42.0), done=kcal(190.0, 42.0))
    assert one(said.power_w) == pytest.approx(190.0)
    assert power(one(said.duration_s), *ROW["row"]) > 200.0


def test_no_log_moves_a_capacity_by_more_than_a_bound():
    plan = circuit(movement_option(dose=30.0), rotations=1)
    assert one(heard(plan, asked=30.0, done=1.0).repetitions) == pytest.approx(20.0 * np.exp(-MOST_SHIFT))


# --- Ratings ---


def test_ratings_become_shares():
    np.testing.assert_allclose(share_used([10.0, 9.0, 7.5, 5.0, 3.0]), [1.0, 0.9, 0.75, 0.5, 0.3])
    assert share_used(1.0) == share_used(3.0)
    assert np.isnan(share_used(np.nan))
    np.testing.assert_allclose(share_sd([1.2, 1.0, 0.5]), [0.13, 0.13, 0.195])


@pytest.mark.parametrize("rpe", [-1.0, 10.5, 47.0])
def test_a_rating_outside_the_scale_is_refused(rpe):
    with pytest.raises(ValueError, match="RPE runs from 0 to 10"):
        heard(circuit(movement_option()), rpe=rpe)


# --- Properties ---


@st.composite
def trainings(draw):
    """A circuit, a room and a log of it in which some missed rounds."""
    plan = draw(circuits())
    people = draw(rooms(plan))
    people = replace(people, allowed=np.ones_like(people.allowed))
    log = logged(plan, people, rpe=float(draw(st.integers(0, 10))))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    short = rng.random(log.dose.shape) < draw(st.sampled_from((0.0, 0.3)))
    rounds = np.where(short, rng.integers(0, plan.rotations + 1, log.dose.shape), plan.rotations).astype(float)
    return plan, people, replace(log, rounds=rounds)


def implied(said):
    """Something that grows with the capacity that is said: repetitions, or power at its duration."""
    return np.where(np.isnan(said.repetitions), said.power_w, said.repetitions)


@settings(max_examples=60, deadline=None)
@given(trainings())
def test_everything_said_is_a_usable_observation(training):
    plan, people, log = training
    said = evidence(plan, people, log)
    told = np.isfinite(said.sd_log)
    assert (np.isfinite(said.power_w) ^ np.isfinite(said.repetitions) == told).all()
    assert (np.isfinite(said.power_w) == np.isfinite(said.duration_s)).all()
    for field in fields(said):
        values = getattr(said, field.name)
        assert (values[np.isfinite(values)] > 0.0).all()
    assert not told[(log.rung == -1) | (log.dose == 0.0) | (log.rounds == 0.0)].any()


@settings(max_examples=60, deadline=None)
@given(trainings(), st.integers(0, 10))
def test_a_harder_rating_never_says_a_higher_capacity(training, rpe):
    plan, people, log = training
    lower, higher = (evidence(plan, people, replace(log, rpe=r)) for r in (np.minimum(log.rpe, rpe), log.rpe))
    both = np.isfinite(lower.sd_log) & np.isfinite(higher.sd_log)
    np.testing.assert_array_equal(lower.duration_s[both], higher.duration_s[both])
    assert (implied(lower)[both] >= implied(higher)[both] * (1.0 - 1e-9)).all()


@settings(max_examples=60, deadline=None)
@given(trainings())
def test_an_easy_session_that_was_completed_never_lowers_an_estimate(training):
    plan, people, log = training
    for rpe in (0.0, 10.0 * HEARD_SHARE):
        easy = replace(log, rounds=np.full(log.dose.shape, float(plan.rotations)), rpe=np.full(len(log.rpe), rpe))
        said, expected = evidence(plan, people, easy), np.full(log.dose.shape, np.nan)
        for s, station in enumerate(plan.stations):
            for rung, option in enumerate(station.options):
                here = log.rung[:, s] == rung
                best = people.repetitions_mean[:, s, rung]
                if option.engine:
                    best = np.log(power(said.duration_s[:, s], *np.exp(people.engine_mean[option.engine].T)))
                expected[here, s] = best[here]
        told = np.isfinite(said.sd_log)
        assert (np.log(implied(said))[told] >= expected[told] - 1e-9).all()


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from((engine_option("row", 60.0), engine_option("run", 250.0), movement_option(60.0))),
    st.integers(1, 12),
    st.integers(4, 20).map(lambda half: half / 2.0),
    st.floats(1.0, 1.5),
    st.data(),
)
def test_doing_more_never_says_a_lower_capacity(option, rotations, rpe, factor, data):
    """Alone on a station; an engine's duration differs too, so that what is compared is what it predicts."""
    plan = circuit(option, rotations=rotations)
    people = room(plan, engine_sd=0.0, most_sd=0.0)
    asked = scale(plan, people).dose * data.draw(st.floats(0.8, 1.3))
    rounds = data.draw(st.integers(1, rotations))
    more_rounds = data.draw(st.integers(rounds, rotations))
    less = _implied_log(plan, people, option, rpe=rpe, rounds=rounds, asked=asked)
    more = _implied_log(plan, people, option, rpe=rpe, rounds=more_rounds, asked=asked, done=asked * factor)
    if np.isfinite(less) and np.isfinite(more):
        assert more >= less - 1e-9


def _implied_log(plan, people, option, **log):
    """Log of the capacity that is said over the one that is believed."""
    said = evidence(plan, people, logged(plan, people, **log))
    if option.engine is None:
        return float(np.log(said.repetitions[0, 0] / 20.0))
    best = power(said.duration_s[0, 0], *np.exp(people.engine_mean[option.engine][0]))
    return float(np.log(said.power_w[0, 0] / best))


@settings(max_examples=60, deadline=None)
@given(trainings(), st.data())
def test_what_one_athlete_is_told_does_not_depend_on_the_others(training, data):
    plan, people, log = training
    row = [data.draw(st.integers(0, len(log.rpe) - 1))]
    alone = evidence(plan, people.take(row), Logged(*(getattr(log, field.name)[row] for field in fields(log))))
    among = evidence(plan, people, log)
    for field in fields(alone):
        np.testing.assert_allclose(getattr(alone, field.name), getattr(among, field.name)[row], rtol=1e-9)


@pytest.mark.parametrize(("rpe", "least", "most"), [(3.0, 0.89, 1.0), (9.0, 0.4, 0.85)])
def test_a_little_left_of_light_work_is_no_exhaustion_unless_it_was_rated_so(rpe, least, most):
    """11 kcal with nearly everything left, and one kcal short in each round: somebody was late."""
    plan = circuit(engine_option(dose=11.0), rotations=5, interval=240.0)
    strong = (300.0, 20_000.0, 20.0)
    said = heard(plan, room(plan, engines={"row": strong}), rpe=rpe, done=10.0)
    assert least <= one(said.power_w) / power(one(said.duration_s), *strong) <= most
