"""The computed cautions on what athletes did: growing volume after a break, and small beginnings of what makes sore."""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import numpy as np
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from athletes.estimates.people import load_people
from athletes.estimates.write import estimates_refresh
from athletes.models import Athlete, Effort, Movement, Override
from sessions.models import Attendance, Log, LogEntry, PublishedSession
from sessions.targets.history import load_history
from tests import gym
from tests.conftest import publish

TODAY = date(2026, 11, 25)


def log(athlete: Athlete, day: date, movement: Movement | None = None, *, rounds=5, dose=6.0, session=None) -> Log:
    kept = Log.objects.create(
        key=uuid4(),
        athlete=athlete,
        session=session or PublishedSession.objects.first(),
        session_key=uuid4(),
        date=day,
        source="phone",
        done_at=datetime.combine(day, datetime.min.time(), UTC),
    )
    if movement:
        figures = {"rounds": rounds, "dose": dose, "asked_rounds": rounds, "asked_dose": dose}
        LogEntry.objects.create(log=kept, station=2, movement=movement, **figures)
    return kept


@pytest.fixture
def athletes(live_week) -> list[Athlete]:
    Movement.objects.filter(slug="pull-up").update(high_eccentric=True, introductory=30)
    return list(Athlete.objects.order_by("pk"))


@pytest.fixture
def pull_up(athletes) -> Movement:
    return Movement.objects.get(slug="pull-up")


def days(athletes, day=TODAY) -> list:
    return load_history(athletes, TODAY).days_since_return(day).tolist()


def most(athletes, movement, day=TODAY) -> list[float]:
    return load_history(athletes, TODAY).most_in_session(day, movement).tolist()


def test_who_never_logged_is_not_held_back_and_who_comes_back_after_a_break_is(athletes):
    log(athletes[1], TODAY - timedelta(days=30))
    log(athletes[1], TODAY - timedelta(days=9))
    log(athletes[2], TODAY - timedelta(days=20))
    log(athletes[3], TODAY - timedelta(days=200))
    log(athletes[3], TODAY - timedelta(days=3))
    found = days(athletes)
    assert np.isnan(found[0])
    assert found[1:4] == [9, 0, 3]


def test_a_new_member_and_a_flagged_return_start_a_ramp_and_a_coach_may_set_it_aside(athletes, coach):
    athletes[0].joined_on = TODAY - timedelta(days=8)
    athletes[1].returned_on = TODAY - timedelta(days=15)
    assert days(athletes)[:2] == [8, 15]
    Override.objects.create(
        athlete=athletes[0], caution="return", starts_on=TODAY, ends_on=TODAY, reason="trained elsewhere", made_by=coach
    )
    assert np.isnan(days(athletes)[0])
    assert days(athletes, TODAY + timedelta(days=1))[0] == 9


def test_who_is_away_begins_in_the_week_that_is_planned(athletes):
    log(athletes[0], TODAY - timedelta(days=40))
    next_thursday = TODAY + timedelta(days=8)
    assert days(athletes, next_thursday)[0] == 3


def test_a_break_that_is_complete_by_monday_counts_for_the_week_published_before_it(athletes):
    """Last trained 11 days ago, on a Wednesday the week from Monday is made: 16 days by then."""
    for back in (31, 21, 11):
        log(athletes[0], TODAY - timedelta(days=back))
    monday = TODAY + timedelta(days=5)
    assert np.isnan(days(athletes)[0])
    assert days(athletes, monday)[0] == 0
    assert days(athletes, monday + timedelta(days=3))[0] == 3


def test_who_is_announced_back_did_not_do_what_was_asked_while_away(furnished, coach):
    Movement.objects.filter(slug="pull-up").update(high_eccentric=True, introductory=10)
    gym.people(2)
    monday = gym.this_monday() - timedelta(days=7)
    session = publish(gym.planned_week(monday), coach, day=monday).sessions.get()
    session.targets.filter(station=2).update(rung=0, dose=8)
    back, other = Athlete.objects.order_by("pk")
    pull_up = Movement.objects.get(slug="pull-up")
    assert most([back, other], pull_up) == [80, 80]
    back.returned_on = gym.this_monday()
    assert most([back, other], pull_up) == [10, 80]


def test_attendance_counts_as_training(athletes):
    Attendance.objects.create(athlete=athletes[0], session_key=uuid4(), date=TODAY - timedelta(days=2))
    log(athletes[0], TODAY - timedelta(days=10))
    assert np.isnan(days(athletes)[0])


def test_a_sore_making_movement_begins_small_and_may_double(athletes, pull_up):
    log(athletes[0], TODAY - timedelta(days=5), pull_up, rounds=5, dose=4)
    log(athletes[1], TODAY - timedelta(days=5), pull_up, rounds=10, dose=6)
    log(athletes[2], TODAY - timedelta(days=40), pull_up, rounds=10, dose=6)
    assert most(athletes, pull_up)[:4] == [40, 120, 30, 30]
    assert most(athletes, Movement.objects.get(slug="ring-row")) == [np.inf] * 5


def test_where_nobody_logs_what_was_asked_counts_as_done(furnished, coach):
    Movement.objects.filter(slug="pull-up").update(high_eccentric=True, introductory=10)
    gym.people(3)
    monday = gym.this_monday() - timedelta(days=7)
    session = publish(gym.planned_week(monday), coach, day=monday).sessions.get()
    people = list(Athlete.objects.order_by("pk"))
    pull_up = Movement.objects.get(slug="pull-up")
    asked = {row.athlete_id: row.dose * 5 for row in session.targets.filter(station=2, rung=0)}
    assert most(people, pull_up) == [max(10, 2 * asked.get(athlete.pk, 0)) for athlete in people]
    assert any(amount > 10 for amount in most(people, pull_up))
    Attendance.objects.create(athlete=people[0], session_key=session.key, date=session.date)
    assert most(people, pull_up)[1:] == [10, 10]  # the gym keeps record now: who did not come did not do it


def test_targets_say_that_they_are_capped(furnished, coach):
    Movement.objects.filter(slug="pull-up").update(high_eccentric=True, introductory=10)
    gym.people(6)
    Athlete.objects.filter(pk=Athlete.objects.first().pk).update(joined_on=gym.this_monday())
    publication = publish(gym.planned_week(), coach)
    strongest = publication.targets.filter(station=2, rung=0).exclude(athlete=Athlete.objects.first())
    exposed = [row for row in strongest if row.detail["bound"] == "exposure"]
    assert exposed
    assert all(row.dose * 5 <= 10 for row in exposed)
    new = publication.targets.filter(athlete=Athlete.objects.first(), rung__gte=0)
    assert {row.detail["bound"] for row in new} == {"return"}


def test_the_number_of_queries_does_not_grow(athletes):
    counts = []
    for more in (0, 20):
        gym.people(more)
        people = load_people(list(Athlete.objects.values_list("pk", flat=True)))
        with CaptureQueriesContext(connection) as queries:
            load_history(people.athletes, TODAY)
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 10


def test_staff_read_in_words_which_cautions_hold(athletes, pull_up, staff_client):
    log(athletes[0], TODAY - timedelta(days=300))
    page = staff_client.get(f"/athletes/{athletes[0].pk}/cautions/").content.decode()
    assert "No session since" in page
    assert "week 1 of 4, 50 % of the usual work" in page
    assert "Pull up: up to 30 in a session (new or long ago)." in page


def test_the_first_weeks_back_are_short_work_at_the_usual_pace(furnished, coach):
    gym.people(2)
    back, other = Athlete.objects.order_by("pk")
    Effort.objects.filter(athlete=other).delete()
    for effort in Effort.objects.filter(athlete=back):  # two alike, one of them back from a break
        Effort.objects.create(
            athlete=other, benchmark=effort.benchmark, value=effort.value, fixed=effort.fixed, typed=effort.typed,
            performed_on=effort.performed_on,
        )  # fmt: skip
    same = {"sex": back.sex, "body_mass_kg": back.body_mass_kg}
    Athlete.objects.filter(pk=other.pk).update(**same)
    estimates_refresh()
    Athlete.objects.filter(pk=back.pk).update(returned_on=gym.this_monday() + timedelta(days=7))
    session = publish(gym.planned_week(), coach).sessions.get()
    rows = {(row.athlete_id, row.station): row for row in session.targets.all()}
    for station, window in ((1, 45), (2, 40), (3, 45)):
        short, usual = rows[back.pk, station], rows[other.pk, station]
        if usual.rung < 0:
            continue
        setup = session.circuit["stations"][station - 1]["options"][usual.rung]["movement"]["setup_s"]
        assert short.done_by_s <= setup + 12  # 1:4 of a minute
        assert short.detail["bound"] == "return"
        assert 0 < short.dose <= max(1, 0.5 * usual.dose)
        assert short.dose * (window - setup) <= max(1, usual.dose) * (window - setup)
    rower = rows[back.pk, 1]
    assert 0.7 * rows[other.pk, 1].hold < rower.hold < 1.05 * rows[other.pk, 1].hold
    assert rower.headroom > rows[other.pk, 1].headroom
