"""Promised and held: from the gym's logs to the page, and to the margins of the targets to come."""

from datetime import timedelta
from uuid import uuid4

import numpy as np
import pytest
from django.utils import timezone

from athletes.estimates.library import learnt
from athletes.estimates.people import load_people
from athletes.gym.read import today
from athletes.models import Athlete, Gym
from sessions.logs.calibration import BOUNDS, FEWEST_TARGETS, bands, model_sd
from sessions.logs.promises import USUAL, model_refresh, promises
from sessions.models import Log, LogEntry, PublishedSession, Target
from sessions.scaling.prediction import normal_cdf
from sessions.scaling.targets import Reason
from sessions.tasks import model_refresh as nightly
from tests import gym
from tests.conftest import publish

USUAL_SD = 0.15


def world(true_sd: float, count: int = 1500, assumed: float = USUAL_SD):
    """Targets promised with `assumed`, in a gym where the method's own SD is `true_sd`."""
    rng = np.random.default_rng(3)
    known = rng.uniform(0.04, 0.10, count)
    margin = rng.uniform(0.02, 0.40, count)
    chance = normal_cdf(margin / np.hypot(known, assumed))
    held = rng.normal(size=count) * np.hypot(known, true_sd) < margin
    return chance, held, known, np.full(count, assumed)


def test_bands_count_what_was_promised_and_held():
    low, *_, high = bands([0.3, 0.5, 0.65, 0.99, 1.0], [True, False, True, True, False])
    assert (low.low, low.high, low.count, low.held, low.promised) == (0.0, 0.6, 2, 1, 0.4)
    assert (high.count, high.held, high.share) == (2, 1, 0.5)
    assert [band.count for band in bands([], [])] == [0, 0, 0, 0, 0]


@pytest.mark.parametrize(("true", "low", "high"), [(0.15, 0.13, 0.17), (0.25, 0.20, 0.27), (0.10, 0.08, 0.13)])
def test_the_methods_own_sd_follows_what_is_held(true, low, high):
    assert low < model_sd(*world(true), USUAL_SD) < high


@pytest.mark.parametrize("assumed", [0.10, 0.30])
def test_it_is_found_whatever_was_assumed_when_the_promises_were_made(assumed):
    assert model_sd(*world(0.2, assumed=assumed), USUAL_SD) == pytest.approx(0.2, abs=0.03)


def test_it_stays_within_bounds_and_waits_for_enough():
    assert model_sd(*world(3.0), USUAL_SD) == pytest.approx(BOUNDS[1] * USUAL_SD)
    assert model_sd(*world(0.001), USUAL_SD) >= BOUNDS[0] * USUAL_SD
    assert model_sd(*(column[: FEWEST_TARGETS - 1] for column in world(3.0)), USUAL_SD) is None
    sure = (np.ones(5000), np.ones(5000, bool), np.full(5000, 0.05), np.full(5000, USUAL_SD))
    assert model_sd(*sure, USUAL_SD) is None  # what could not fail proves nothing


@pytest.fixture
def sessions(furnished, coach) -> list[PublishedSession]:
    gym.people(45)
    Gym.objects.update(priors={"method_version": "4", "engines": {}})
    monday = gym.this_monday() - timedelta(weeks=1)
    return list(publish(gym.planned_week(monday, *[gym.circuit()] * 5), coach, day=monday).sessions.all())


def log_all(sessions: list[PublishedSession], missed: float) -> None:
    """Everyone logs every session; of each station this share is missed by a round."""
    rng = np.random.default_rng(1)
    entries = []
    for session in sessions:
        for athlete in Athlete.objects.all():
            log = Log.objects.create(
                key=uuid4(), athlete=athlete, session=session, session_key=session.key, date=session.date, rpe=7,
                source="phone", done_at=timezone.now(),
            )  # fmt: skip
            for target in session.targets.filter(athlete=athlete, rung__gte=0):
                rounds = target.rounds - (rng.random() < missed)
                movement = session.definition.option_of(target).movement.id
                entries.append(
                    LogEntry(
                        log=log, station=target.station, movement_id=movement, rounds=rounds, dose=target.dose,
                        asked_rounds=target.rounds, asked_dose=target.dose,
                    )
                )  # fmt: skip
    LogEntry.objects.bulk_create(entries)


def test_more_misses_than_promised_make_the_targets_to_come_more_careful(sessions):
    Target.objects.filter(rung__gte=0).update(probability=0.9, sd_log=0.05)
    log_all(sessions, missed=0.4)
    found = promises(today())
    assert {promise.model for promise in found} == set(USUAL)
    assert 0.5 < np.mean([promise.held for promise in found]) < 0.7
    nightly()
    model = learnt().model
    for name, usual in USUAL.items():
        assert 1.3 * usual < model[name] <= 2 * usual
    assert Gym.objects.get().priors["model_history"] == [[today().isoformat(), model]]
    assert model_refresh() == model  # the same night again: the same answer
    assert load_people([Athlete.objects.first().pk]).taught.model == model  # what is learnt reaches the method


def test_below_two_hundred_nothing_is_learnt(sessions):
    Target.objects.filter(rung__gte=0).update(probability=0.9, sd_log=0.05)
    log_all(sessions[:1], missed=0.4)
    assert model_refresh() == {}
    assert learnt().model == {}


@pytest.mark.parametrize("change", [{"pain": True}, {"stopped": True}, {"replaced": True}])
def test_what_hurt_was_stopped_or_was_corrected_is_left_out(sessions, change):
    log_all(sessions[:1], missed=0.1)
    assert promises(today())
    Log.objects.update(**change)
    assert promises(today()) == []


def test_a_class_that_ended_early_broke_no_promise(sessions):
    log_all(sessions[:1], missed=0.0)
    assert promises(today())
    LogEntry.objects.update(rounds=2)
    assert promises(today()) == []


def test_who_stops_alone_at_every_station_did_not_hold_what_was_promised(sessions):
    log_all(sessions[:1], missed=0.0)
    entries = LogEntry.objects.filter(log__athlete=Athlete.objects.first())
    entries.update(rounds=2)
    assert [promise.held for promise in promises(today())].count(False) == entries.count() > 0


def test_what_a_coach_set_was_not_promised_by_the_method(sessions):
    log_all(sessions[:1], missed=0.0)
    before = len(promises(today()))
    target = Target.objects.filter(rung__gte=0, probability__isnull=False, session=sessions[0]).first()
    target.detail = {**target.detail, "reason": int(Reason.BY_HAND)}
    target.save()
    assert len(promises(today())) == before - 1


def test_coaches_read_it_in_plain_words_and_as_a_table(coach_client, staff_client, sessions):
    page = coach_client.get("/progress/held/").content.decode()
    assert "Nothing to compare yet" in page
    Target.objects.filter(rung__gte=0).update(probability=0.85, sd_log=0.05)
    log_all(sessions, missed=0.4)
    page = coach_client.get("/progress/held/").content.decode()
    assert "promised 85 %" in page
    assert "Targets were too bold" in page
    assert "80 % to 90 %" in page
    assert "How many targets were held, against the chance that was promised" in page
    assert "SD" not in page.split("<main")[1]
    assert "/progress/held/" in coach_client.get("/progress/").content.decode()
    assert staff_client.get("/progress/held/").status_code == 403


def test_queries_of_the_page_do_not_grow(coach_client, sessions, django_assert_max_num_queries):
    log_all(sessions, missed=0.2)
    with django_assert_max_num_queries(12):
        coach_client.get("/progress/held/")
