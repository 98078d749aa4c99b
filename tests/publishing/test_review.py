"""What a coach sees before publishing, and how a publish is undone."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from athletes.capacity.constants import PATTERNS
from athletes.efforts.write import effort_record
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Gym, Limitation
from sessions.circuits.freeze import definition_on_day
from sessions.circuits.read import with_stations
from sessions.models import Circuit, PlannedSession, Publication, StationOption
from sessions.publishing import run as publishing
from sessions.publishing.changes import changes_between
from sessions.publishing.review import review_of
from sessions.publishing.sides import side_of
from sessions.publishing.write import bring_back, publication_request
from sessions.room.preview import room_preview
from sessions.weeks.days import occasion_of
from sessions.weeks.read import content_hash, content_of, state_of
from tests import gym
from tests.conftest import publish

State = Publication.State
PULL = PATTERNS.index("pull")
ROWS = ("session__key", "athlete_id", "station", "rung", "dose", "load_kg", "rounds", "hold")


@pytest.fixture
def week(furnished):
    gym.people(6)
    return gym.planned_week(None, gym.circuit(), gym.circuit())


def run_publishing(publication):
    publishing.run(publication.pk)
    publication.refresh_from_db()
    assert publication.state == State.LIVE, publication.failure


def reviewed(week):
    return review_of(week, Gym.objects.get())


def test_the_review_says_what_publishing_then_does(week, coach, staff):
    first = publish(week, coach)
    StationOption.objects.filter(movement__slug="row").update(dose=9, least_dose=5)
    PlannedSession.objects.filter(week=week, weekday=1).update(intent="easy")
    athlete = Athlete.objects.first()
    Limitation.objects.create(athlete=athlete, kind="body", patterns=["pull"], starts_on=today())
    foreseen = reviewed(week)
    second = publish(week, coach)
    happened = changes_between(side_of(first), side_of(second))
    told = [change for day in foreseen.days for change in day.changes]
    assert {(c.athlete, c.date, c.station, str(c.after), c.because) for c in told} == {
        (c.athlete, c.date, c.station, str(c.after), c.because) for c in happened
    }
    assert {c.because for c in told} >= {"Row 5–9 kcal, was 8–15 kcal", "easy, was hard", "a limitation was changed"}
    assert foreseen.athletes == len({c.athlete for c in happened})


def test_the_same_week_again_changes_nothing(week, coach):
    publish(week, coach)
    assert reviewed(week).nothing


def test_a_new_result_is_the_reason_where_nothing_else_is(week, coach, staff):
    publish(week, coach)
    athlete = Athlete.objects.get(name="Athlete 0000")
    benchmark = Benchmark.objects.get(slug="pull-ups-unbroken")
    effort_record(athlete=athlete, benchmark=benchmark, typed="25", performed_on=today(), by=staff, confirmed=True)
    changes = [change for day in reviewed(week).days for change in day.changes]
    assert {change.athlete for change in changes} == {athlete}
    assert {change.because for change in changes} == {"new result, pull-ups unbroken 25 repetitions"}


def test_a_session_that_moves_is_the_same_session_on_another_day(week, coach):
    publish(week, coach)
    PlannedSession.objects.filter(week=week, weekday=1).update(weekday=4)
    moved = [day for day in reviewed(week).days if day.words]
    assert [day.words for day in moved] == [["moved from Tuesday"]]
    assert not moved[0].changes
    assert moved[0].people == 6  # the whole gym hears that the day is another


def test_the_first_time_shows_who_needs_a_look(week, coach_client):
    gym.people(1, tested=False)
    limited = Athlete.objects.first()
    Limitation.objects.create(athlete=limited, kind="body", patterns=["pull"], starts_on=today())
    page = coach_client.get(reverse("sessions:review", args=[week.starts_on])).content.decode()
    assert "Untested" in page
    assert "Limited" in page or "Rests" in page
    assert "the first time" in page
    assert limited.board_name in page


def test_the_review_asks_no_more_queries_for_more_athletes(week, coach, coach_client):
    publish(week, coach)
    StationOption.objects.filter(movement__slug="row").update(dose=9, least_dose=5)
    url = reverse("sessions:review", args=[week.starts_on])
    coach_client.get(url)
    with CaptureQueriesContext(connection) as few:
        coach_client.get(url)
    gym.people(20)
    with CaptureQueriesContext(connection) as many:
        coach_client.get(url)
    assert len(many) <= len(few)


def test_a_circuit_that_cannot_be_scaled_says_so_before_publishing(week, coach_client):
    Circuit.objects.first().stations.update(work_window_s=300)
    page = coach_client.get(reverse("sessions:review", args=[week.starts_on])).content.decode()
    assert "longer than the interval" in page


def test_an_earlier_revision_comes_back_as_a_new_one(week, coach):
    first = publish(week, coach)
    targets = list(first.targets.order_by("session__date", "athlete", "station").values_list(*ROWS))
    StationOption.objects.filter(movement__slug="row").update(dose=9, least_dose=5)
    second = publish(week, coach)
    third = bring_back(publication=first, by=coach)
    run_publishing(third)
    assert [p.state for p in week.publications.order_by("revision")] == [State.SUPERSEDED, State.SUPERSEDED, State.LIVE]
    assert list(third.targets.order_by("session__date", "athlete", "station").values_list(*ROWS)) == targets
    assert changes_between(side_of(second), side_of(third))
    assert not changes_between(side_of(first), side_of(third))
    assert third.pages.count() == second.pages.count()
    assert state_of(third, content_of(week, Gym.objects.get())) == "changed"  # what is written stays written
    assert bring_back(publication=first, by=coach) == third  # pressed twice


def test_days_that_are_over_stay_when_a_revision_comes_back(week, coach):
    first = publish(week, coach)
    StationOption.objects.filter(movement__slug="row").update(dose=9, least_dose=5)
    second = publish(week, coach)
    tuesday = week.starts_on + timedelta(days=1)
    third = bring_back(publication=first, by=coach, day=tuesday)
    run_publishing(third)
    assert {change.date for change in changes_between(side_of(second), side_of(third))} == {tuesday}


def test_a_limitation_since_then_is_kept_to_when_a_revision_comes_back(week, coach):
    first = publish(week, coach)
    publish(week, coach)
    limited = Athlete.objects.first()
    Limitation.objects.create(athlete=limited, kind="body", patterns=["pull"], starts_on=today())
    third = bring_back(publication=first, by=coach)
    run_publishing(third)
    pulls = [
        third.sessions.get(pk=target.session_id).definition.option_of(target).movement.involvement[PULL]
        for target in third.targets.filter(athlete=limited, rung__gte=0)
    ]
    assert {change.athlete for change in changes_between(side_of(first), side_of(third))} == {limited}
    assert not any(pulls)


def test_only_what_people_saw_can_come_back(week, coach):
    first = publish(week, coach)
    with pytest.raises(ValidationError, match="people saw before"):
        bring_back(publication=first, by=coach)
    publish(week, coach)
    publication_request(week=week, by=coach)
    with pytest.raises(ValidationError, match="right now"):
        bring_back(publication=first, by=coach)


def test_what_was_reviewed_is_what_goes_live(week, coach, coach_client):
    reviewed_hash = content_hash(content_of(week, Gym.objects.get()))
    PlannedSession.objects.filter(week=week).update(intent="easy")
    url = reverse("sessions:publish", args=[week.starts_on])
    answer = coach_client.post(url, {"reviewed": reviewed_hash}, follow=True)
    assert "changed since you reviewed it" in answer.content.decode()
    assert not Publication.objects.exists()


def test_no_revision_comes_back_into_a_heat_that_stops_training(week, coach):
    first = publish(week, coach)
    publish(week, coach)
    PlannedSession.objects.filter(week=week, weekday=1).update(wbgt_c=Gym.objects.get().heat_stop_c)
    with pytest.raises(ValidationError, match="nobody trains here"):
        bring_back(publication=first, by=coach)


def test_the_review_counts_as_the_room_does(furnished, coach):
    gym.people(20)
    Athlete.objects.filter(board_name="A0003").update(born=today() - timedelta(days=365 * 15))
    week = gym.planned_week()
    planned = week.sessions.get()
    [day] = reviewed(week).days
    definition = definition_on_day(with_stations(Circuit.objects.all()).get(), planned)
    room = room_preview(definition=definition, occasion=occasion_of(planned, Gym.objects.get(), definition))
    for fall, station in zip(day.stations, room.stations, strict=True):
        counts = fall["counts"]
        assert counts.get("as_prescribed", 0) == station.as_prescribed
        assert counts.get("swapped", 0) == station.swapped
        assert (counts["with_coach"], counts.get("rest", 0)) == (1, 0)
    loads = [row.targets[2].load_kg for row in room.rows if row.targets[2].load_kg]
    assert max(loads) < 24  # a load under the written one is less, with all its repetitions
    assert room.stations[2].as_prescribed == 0
