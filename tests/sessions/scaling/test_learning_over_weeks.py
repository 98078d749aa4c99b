"""Ten weeks of logs at two sessions a week, without a retest: 400 athletes, and what a coach expects of their doses.

Each week's targets are made by `scale` from the estimates and the adjustments that the logs have brought so far
(`read_log`, `accumulate`). What they then do and say follows from their true capacity, the form of the day (log-SD
0.04) and a rating that is off by half a point (SD 0.6, in half points). Doses are written so high that they never bind.
"""

from dataclasses import replace

import numpy as np
import pytest

from athletes.capacity.adjustment import accumulate
from sessions.scaling.ability import ability_of, ladder_of
from sessions.scaling.circuit import Circuit, Station
from sessions.scaling.constants import ENGINE_MODEL_SD, REPETITIONS_MODEL_SD
from sessions.scaling.doses import demand_of
from sessions.scaling.logged import Asked, Logged, read_log
from sessions.scaling.prediction import expected_rpe, headroom_left
from sessions.scaling.room import Room
from sessions.scaling.scale import scale
from tests.sessions.scaling.builders import PULL, WHOLE, engine_option, movement_option

NAN = np.nan
ATHLETES, SESSIONS, STATIONS = 400, 20, 3
TRUNK = (0.0, 0.0, 0.2, 0.0, 1.0, 0.0, 0.0)
CIRCUIT = Circuit(
    (
        Station(50.0, (engine_option(dose=40.0, least=1.0, involvement=WHOLE),)),
        Station(45.0, (movement_option(dose=20.0, least=1.0, seconds=1.0, involvement=PULL),)),
        Station(50.0, (movement_option(dose=40.0, least=1.0, seconds=1.0, involvement=TRUNK),)),
    ),
    6,
    headroom=0.18,
)
DAYS = np.array([7 * week + day for week in range(SESSIONS // 2) for day in (1, 4)], float)


def room_of(rng, n=ATHLETES):
    """Members of different levels, their estimates right in the middle."""
    row = np.log([190.0, 13_000.0, 20.0]) + rng.normal(0.0, 0.25, (n, 1)) * [1.0, 1.0, 0.0]
    most = np.log([1.0, 18.0, 36.0]) + rng.normal(0.0, 0.25, (n, 1)) + np.zeros((n, 3))
    return Room(
        {"row": row}, {"row": np.tile(np.diag([0.03, 0.08, 0.1]) ** 2, (n, 1, 1))}, most[..., None],
        np.full((n, 3, 1), 0.08), np.ones((n, 3, 1), bool),
    )  # fmt: skip


def moved(room, by):
    """The room with the logs of the capacities moved, (n, S)."""
    return replace(
        room,
        engine_mean={"row": room.engine_mean["row"] + by[:, :1] * [1.0, 1.0, 0.0]},
        repetitions_mean=room.repetitions_mean + by[..., None],
    )


def left(room, targets):
    """True headroom (n, S) of what was asked."""
    ability = ability_of(CIRCUIT, room, ENGINE_MODEL_SD, REPETITIONS_MODEL_SD).at(targets.rung)
    ladder = ladder_of(CIRCUIT).at(targets.rung)
    present = targets.rung >= 0
    demand = demand_of(CIRCUIT, ability, targets.rung, CIRCUIT.rotations)
    return headroom_left(demand, ladder.intensity(targets.dose) * ability.per, ability.free * ability.per, present)


def honest(targets, room, rng):
    """What a member does and says: stops in the last rounds where there is no more, and rates what was left."""
    form = rng.normal(0.0, 0.04, (len(room), 1)) + np.zeros((1, STATIONS))
    headroom = left(moved(room, form), targets)
    lost = np.where(headroom < 0, np.ceil(-headroom / 0.08), 0.0)
    rpe = expected_rpe(np.maximum(headroom, 0.0), targets.rung >= 0) + rng.normal(0.0, 0.6, len(room))
    return Logged(
        np.maximum(targets.rounds - lost, 1.0), targets.dose, np.clip(np.round(2.0 * rpe) / 2.0, 1.0, 10.0),
        np.full(targets.dose.shape, NAN),
    )  # fmt: skip


def rated(points_off):
    """All as asked, and a rating so many points off what was expected."""

    def log(targets, room, rng):
        rpe = np.clip(targets.expected_rpe + points_off, 0.0, 10.0)
        return Logged(targets.rounds * 1.0, targets.dose, rpe, np.full(targets.dose.shape, NAN))

    return log


def weeks(room, truth, log, rng, sessions=SESSIONS, sure=None):
    """Doses (sessions + 1, n, S), last those after all, and adjustments: `truth` (n, S), log of true over estimated."""
    n = len(room)
    steps, doses, accounts = np.full((n, STATIONS, sessions), NAN), [], []
    for session in range(sessions + 1):
        today = DAYS[min(session, len(DAYS) - 1)] - 0.5 if session < sessions else DAYS[sessions - 1] + 1.0
        account = np.stack(
            [accumulate(steps[:, s], np.broadcast_to(DAYS[:sessions], (n, sessions)), today) for s in range(STATIONS)],
            1,
        )
        targets = scale(CIRCUIT, moved(room, account))
        doses.append(targets.dose)
        accounts.append(account)
        if session < sessions:
            asked = Asked.of(targets, np.zeros((n, STATIONS), bool))
            steps[..., session] = read_log(CIRCUIT, asked, log(targets, moved(room, truth), rng)).step
    return np.array(doses), np.array(accounts)


@pytest.fixture
def rng():
    return np.random.default_rng(31)


@pytest.fixture
def room(rng):
    return room_of(rng)


def right(room, truth):
    return scale(CIRCUIT, moved(room, truth)).dose


def both(value):
    return np.full((ATHLETES, STATIONS), value)


def test_misses_in_the_last_rounds_lower_the_dose_within_two_sessions(room, rng):
    def log(targets, *_):
        rounds = targets.rounds * 1.0
        rounds[:, 1] -= 2.0
        return Logged(rounds, targets.dose, np.full(len(rounds), NAN), np.full(rounds.shape, NAN))

    doses, _ = weeks(room, both(0.0), log, rng, 2)
    lower = doses[2, :, 1] < doses[0, :, 1]
    assert lower[doses[0, :, 1] >= 5.0].all()  # of four repetitions one is a quarter
    assert lower.mean() > 0.95
    others = doses[2][:, [0, 2]] - doses[0][:, [0, 2]]
    assert (others >= -1.0).all()  # and only there, but for the odd step between stations that share
    assert (others >= 0.0).mean() > 0.97


def test_four_easy_sessions_raise_the_dose_and_four_at_ten_lower_it(room, rng):
    def says(rpe):
        def log(targets, *_):
            return Logged(targets.rounds * 1.0, targets.dose, np.full(ATHLETES, rpe), np.full(targets.dose.shape, NAN))

        return log

    easy, _ = weeks(room, both(0.0), says(3.0), rng, 4)
    hard, _ = weeks(room, both(0.0), says(10.0), rng, 4)
    for doses, sign in ((easy, 1.0), (hard, -1.0)):
        hardest = left(room, scale(CIRCUIT, room)).argmin(-1)
        rows = np.arange(ATHLETES)
        change = sign * (doses[4, rows, hardest] - doses[0, rows, hardest])
        assert (change > 0).mean() > 0.97
        assert (sign * (doses[4] - doses[0]) >= 0).all()


def test_doing_more_than_asked_raises_the_dose(room, rng):
    def log(targets, *_):
        return Logged(
            targets.rounds * 1.0, targets.dose + 2.0, np.full(ATHLETES, NAN), np.full(targets.dose.shape, NAN)
        )

    doses, _ = weeks(room, both(0.0), log, rng, 2)
    assert (doses[1] > doses[0]).mean() > 0.95
    assert (doses[2] > doses[0]).mean() > 0.99


def test_an_under_rated_strong_athlete_reaches_nine_tenths_in_six_weeks(room, rng):
    truth = both(np.log(4.0 / 3.0))
    doses, _ = weeks(room, truth, honest, rng)
    share = (doses / right(room, truth)).mean((1, 2))
    print("under-rated by a quarter, share of the right dose after 0, 1, 3, 5, 6, 8, 10 weeks:",
          share[[0, 2, 6, 10, 12, 16, 20]].round(2))  # fmt: skip
    assert share[12] >= 0.90
    assert share[20] <= 1.05
    assert ((doses[12] / right(room, truth)).mean(1) > 0.75).mean() > 0.98


def test_an_over_rated_athlete_comes_down_in_weeks(room, rng):
    truth = both(-0.22)
    doses, _ = weeks(room, truth, honest, rng)
    share = (doses / right(room, truth)).mean((1, 2))
    print("over-rated by a quarter, after 0, 1, 3, 6, 10 weeks:", share[[0, 2, 6, 12, 20]].round(2))
    assert share[6] <= 1.12
    assert share[20] <= 1.08


def test_as_asked_at_the_rating_expected_changes_nothing(room, rng):
    for off in (0.0, 0.9, -0.9):
        doses, account = weeks(room, both(0.0), rated(off), rng)
        assert (account == 0.0).all()
        assert (doses == doses[0]).all()


def test_a_rightly_rated_room_stays_where_it_is_and_nothing_swings(room, rng):
    doses, account = weeks(room, both(0.0), honest, rng)
    share = doses / np.maximum(doses[0], 1.0)
    print("rightly rated: mean", share[-1].mean().round(3), "SD", share[-1].std().round(3))
    assert abs(share[-1].mean() - 1.0) < 0.05
    assert np.abs(account).max() <= 0.35
    assert account[-1].std() < 0.12
    # From one session to the next a dose moves by a step, or by a tenth where steps are small against it
    change = np.abs(np.diff(doses, axis=0))
    assert (change <= np.maximum(1.0, np.ceil(0.1 * doses[:-1]) + 1.0)).mean() > 0.999
    # And not up and down and up again: turns are few
    turns = (np.diff(doses, axis=0)[1:] * np.diff(doses, axis=0)[:-1] < 0).mean()
    assert turns < 0.15


def test_nothing_runs_away_whatever_is_said(room, rng):
    for off in (6.0, -6.0, 1.5, -1.5):
        _, account = weeks(room, both(0.0), rated(off), rng)
        assert np.abs(account).max() <= 0.35 + 1e-12


def test_a_habit_of_rating_low_or_high_settles(room, rng):
    for off in (1.5, -1.5):

        def log(targets, people, rng, off=off):
            logged = honest(targets, people, rng)
            return replace(logged, rpe=np.clip(logged.rpe + off, 1.0, 10.0))

        doses, _ = weeks(room, both(0.0), log, rng)
        share = (doses / doses[0]).mean((1, 2))
        print(f"a habit of {off:+g} points: after 5 and 10 weeks", share[[10, 20]].round(2))
        assert 0.80 < share[20] < 1.15
        assert abs(share[20] - share[14]) < 0.06


def test_the_first_session_of_an_untested_athlete_is_a_measurement(room, rng):
    """Estimated at the prior (log-SD 0.35): after one session what was measured joins it, and the dose is nearer."""
    truth = rng.normal(0.0, 0.35, (ATHLETES, 1)) + np.zeros((1, STATIONS))
    guess = replace(
        room,
        repetitions_sd=np.full(room.repetitions_sd.shape, 0.35),
        engine_cov={"row": np.tile(np.diag([0.3, 0.3, 0.3]) ** 2, (ATHLETES, 1, 1))},
        untested=np.ones(room.allowed.shape, bool),
    )
    targets = scale(CIRCUIT, guess)
    asked = Asked.of(targets, np.ones((ATHLETES, STATIONS), bool))
    findings = read_log(CIRCUIT, asked, honest(targets, moved(guess, truth), rng))
    seen = ~np.isnan(findings.measured)
    assert seen.any(-1).all()  # every first session measures something
    assert (findings.step[seen] == 0.0).all()
    weight = 0.35**2 / (0.35**2 + findings.measured_sd**2)
    after = np.where(seen, weight * findings.measured, 0.0)
    before = np.abs(truth)[seen].mean()
    assert np.abs(truth - after)[seen].mean() < 0.80 * before
    assert np.corrcoef(findings.measured[seen], truth[seen])[0, 1] > 0.5
