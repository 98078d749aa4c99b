"""The computed cautions on what athletes did: growing volume after a break, and small beginnings of what makes sore."""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import numpy as np
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from athletes.estimates.people import load_people
from athletes.estimates.write import estimates_refresh
from athletes.models import Accustomed, Athlete, Effort, Movement, Override
from athletes.trials.cautions import not_all_out
from sessions.models import Attendance, Log, LogEntry, PublishedSession
from sessions.scaling.targets import Swap
from sessions.targets import history
from sessions.targets.detail import detail_of
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


def trained(athlete: Athlete, last: date) -> None:
    """Three sessions a week on record for the six weeks up to a day."""
    for back in range(0, 42, 2):
        log(athlete, last - timedelta(days=back))


def test_a_test_day_hears_of_breaks_that_only_the_logs_show(athletes, monkeypatch):
    monkeypatch.setattr(history, "today", lambda: TODAY)
    trained(athletes[0], TODAY - timedelta(days=2))
    trained(athletes[1], TODAY - timedelta(days=20))  # still away
    trained(athletes[2], TODAY - timedelta(days=30))
    log(athletes[2], TODAY - timedelta(days=9))
    trained(athletes[4], TODAY - timedelta(days=14))
    log(athletes[4], TODAY)  # back today
    why = dict.fromkeys((athletes[1].pk, athletes[2].pk, athletes[4].pk), "just back after a break")
    assert not_all_out(athletes, TODAY) == why
    assert not_all_out(athletes, TODAY + timedelta(days=20)) == {k: why[k] for k in (athletes[1].pk, athletes[4].pk)}
    assert not_all_out(athletes, TODAY + timedelta(days=28)) == {athletes[1].pk: why[athletes[1].pk]}


def test_who_may_be_away_by_monday_is_so_for_targets_and_test_days_alike(athletes, monkeypatch):
    sunday = TODAY + timedelta(days=4)
    monkeypatch.setattr(history, "today", lambda: sunday)
    trained(athletes[0], sunday - timedelta(days=13))
    tuesday = sunday + timedelta(days=2)
    assert load_history(athletes, sunday).days_since_return(tuesday)[0] == 1
    assert list(not_all_out(athletes, tuesday)) == [athletes[0].pk]
    assert not not_all_out(athletes, sunday)


def test_a_break_counts_only_for_who_was_on_record_before_it(athletes):
    trained(athletes[0], TODAY - timedelta(days=2))  # no break
    trained(athletes[1], TODAY - timedelta(days=20))  # away, and back today at the earliest
    trained(athletes[2], TODAY - timedelta(days=30))
    log(athletes[2], TODAY - timedelta(days=9))  # back since then
    log(athletes[3], TODAY - timedelta(days=40))  # who logs now and then has not stayed away
    found = days(athletes)
    assert np.isnan(found[0])
    assert found[1:3] == [0, 9]
    assert np.isnan(found[3])


def test_a_new_member_and_a_flagged_return_start_four_weeks_and_a_coach_may_set_it_aside(athletes, coach):
    athletes[0].joined_on = TODAY - timedelta(days=8)
    athletes[1].returned_on = TODAY - timedelta(days=15)
    assert days(athletes)[:2] == [8, 15]
    Override.objects.create(
        athlete=athletes[0], caution="return", starts_on=TODAY, ends_on=TODAY, reason="trained elsewhere", made_by=coach
    )
    assert np.isnan(days(athletes)[0])
    assert days(athletes, TODAY + timedelta(days=1))[0] == 9


def test_weeks_ahead_know_the_end_of_a_leave(athletes):
    athletes[0].leave_from, athletes[0].leave_until = TODAY + timedelta(days=2), TODAY + timedelta(days=12)
    assert np.isnan(days(athletes)[0])
    assert days(athletes, TODAY + timedelta(days=14))[0] == 2


def test_who_is_away_begins_in_the_week_that_is_planned(athletes):
    trained(athletes[0], TODAY - timedelta(days=40))
    next_thursday = TODAY + timedelta(days=8)
    assert days(athletes, next_thursday)[0] == 3


def test_a_break_that_is_complete_by_monday_counts_for_the_week_published_before_it(athletes):
    """Last trained 11 days ago, on a Wednesday the week from Monday is made: 16 days by then."""
    trained(athletes[0], TODAY - timedelta(days=11))
    monday = TODAY + timedelta(days=5)
    assert np.isnan(days(athletes)[0])
    assert days(athletes, monday)[0] == 0
    assert days(athletes, monday + timedelta(days=3))[0] == 3


def test_who_is_announced_back_did_not_do_what_was_asked_while_away(furnished, coach):
    Movement.objects.filter(slug="pull-up").update(high_eccentric=True, introductory=10)
    gym.people(2)
    monday = gym.this_monday() - timedelta(days=35)
    session = publish(gym.planned_week(monday), coach, day=monday).sessions.get()
    session.targets.filter(station=2).update(rung=0, dose=8)
    later = publish(gym.planned_week(gym.this_monday() - timedelta(days=7)), coach, day=monday).sessions.get()
    later.targets.filter(station=2).update(rung=0, dose=8)
    Effort.objects.filter(benchmark__movement__slug="pull-up").delete()
    back, other = Athlete.objects.order_by("pk")
    pull_up = Movement.objects.get(slug="pull-up")
    assert most([back, other], pull_up) == [80, 80]
    back.returned_on = gym.this_monday()
    assert most([back, other], pull_up) == [10, 80]


def test_attendance_counts_as_training(athletes):
    trained(athletes[0], TODAY - timedelta(days=16))
    Attendance.objects.create(athlete=athletes[0], session_key=uuid4(), date=TODAY - timedelta(days=8))
    assert np.isnan(days(athletes)[0])


def test_a_sore_making_movement_begins_small_and_may_double(athletes, pull_up):
    Effort.objects.all().delete()
    for athlete in athletes:
        log(athlete, TODAY - timedelta(days=60))  # on record for longer than four weeks
    log(athletes[0], TODAY - timedelta(days=5), pull_up, rounds=5, dose=4)
    log(athletes[1], TODAY - timedelta(days=5), pull_up, rounds=10, dose=6)
    log(athletes[2], TODAY - timedelta(days=40), pull_up, rounds=10, dose=6)
    assert most(athletes, pull_up)[:4] == [40, 120, 30, 30]
    assert most(athletes, Movement.objects.get(slug="ring-row")) == [np.inf] * 5


def test_without_four_weeks_on_record_nobody_is_limited_until_a_coach_has_answered(athletes, pull_up, coach):
    Effort.objects.all().delete()
    log(athletes[0], TODAY - timedelta(days=10))
    assert most(athletes, pull_up)[:3] == [np.inf] * 3
    Accustomed.objects.create(athlete=athletes[0], movement=pull_up, accustomed=False, said_by=coach)
    Accustomed.objects.create(athlete=athletes[1], movement=pull_up, accustomed=True, said_by=coach)
    assert most(athletes, pull_up)[:3] == [30, np.inf, np.inf]
    athletes[2].joined_on = TODAY - timedelta(days=3)  # who is new begins small whatever is on record
    assert most(athletes, pull_up)[2] == 30


def test_a_benchmark_is_a_session_too(athletes, pull_up):
    for athlete in athletes:
        log(athlete, TODAY - timedelta(days=60))
    effort = Effort.objects.filter(athlete=athletes[0], benchmark__movement=pull_up).first()
    Effort.objects.filter(pk=effort.pk).update(value=25, performed_on=TODAY - timedelta(days=3))
    assert most(athletes, pull_up)[0] == 50


def test_where_nobody_logs_what_was_asked_counts_as_done(furnished, coach):
    Movement.objects.filter(slug="pull-up").update(high_eccentric=True, introductory=10)
    gym.people(3)
    Effort.objects.filter(benchmark__movement__slug="pull-up").delete()
    old = gym.this_monday() - timedelta(days=42)
    publish(gym.planned_week(old), coach, day=old)  # so that four weeks are on record
    monday = gym.this_monday() - timedelta(days=7)
    session = publish(gym.planned_week(monday), coach, day=monday).sessions.get()
    people = list(Athlete.objects.order_by("pk"))
    pull_up = Movement.objects.get(slug="pull-up")
    session.targets.filter(station=2, athlete=people[1]).update(rung=0, dose=7, rounds=5)
    asked = {row.athlete_id: row.dose * row.rounds for row in session.targets.filter(station=2, rung=0)}
    assert most(people, pull_up) == [max(10, 2 * asked.get(athlete.pk, 0)) for athlete in people]
    assert any(amount > 10 for amount in most(people, pull_up))
    Attendance.objects.create(athlete=people[0], session_key=session.key, date=session.date)
    assert most(people, pull_up)[1:] == [np.inf, np.inf]  # the gym keeps record now, and has none of them


def test_unaccustomed_volume_goes_down_the_ladder_and_the_first_weeks_take_rounds(furnished, coach):
    Movement.objects.filter(slug="pull-up").update(high_eccentric=True, introductory=10)
    gym.people(6)
    able = Effort.objects.filter(benchmark__movement__slug="pull-up")  # though not used to so many
    able.update(value=30, performed_on=TODAY - timedelta(days=200))
    estimates_refresh()
    for athlete in Athlete.objects.all():
        log_day(athlete, gym.this_monday() - timedelta(days=60))
    first = Athlete.objects.order_by("pk").first()
    Athlete.objects.filter(pk=first.pk).update(joined_on=gym.this_monday() + timedelta(days=7))
    publication = publish(gym.planned_week(), coach)
    limited = [row for row in publication.targets.filter(station=2) if detail_of(row).swap == Swap.UNACCUSTOMED]
    assert limited
    assert {row.rung for row in limited} == {1}  # ring rows, which make less sore, in all rounds
    assert all(row.rounds == 5 for row in limited if row.athlete_id != first.pk)
    new = publication.targets.filter(athlete=first, rung__gte=0)
    assert {detail_of(row).week for row in new} == {1}
    assert all(row.rounds <= 4 for row in new)
    assert all(row.rounds == 5 for row in publication.targets.filter(station=1).exclude(athlete=first))


def log_day(athlete: Athlete, day: date) -> None:
    Attendance.objects.create(athlete=athlete, session_key=uuid4(), date=day)


def test_the_number_of_queries_does_not_grow(athletes):
    counts = []
    for more in (0, 20):
        gym.people(more)
        people = load_people(list(Athlete.objects.values_list("pk", flat=True)))
        with CaptureQueriesContext(connection) as queries:
            load_history(people.athletes, TODAY)
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 14


def test_staff_read_in_words_which_cautions_hold(athletes, pull_up, staff_client):
    trained(athletes[0], TODAY - timedelta(days=20))
    page = staff_client.get(f"/athletes/{athletes[0].pk}/cautions/").content.decode()
    assert "No session since" in page
    assert "week 1 of 4" in page
    assert "Pull up: up to" in page
