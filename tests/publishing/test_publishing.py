"""From a week as written to what everyone sees: frozen, in one step, and safe to be cut off anywhere."""

import json
import re
from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from athletes import claims
from athletes.efforts.write import effort_record
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Limitation
from athletes.people.write import limitation_end
from sessions import tasks
from sessions.boards import files
from sessions.clock.live import wall_plan
from sessions.models import PersonalPage, PlannedSession, Publication, StationOption, Target, Week
from sessions.publishing import run as publishing
from sessions.publishing.changes import changes_between
from sessions.publishing.sides import side_of
from sessions.publishing.write import publication_request
from sessions.scaling.targets import Reason
from sessions.targets.detail import detail_of
from sessions.weeks.published import fresher_athletes
from sessions.weeks.read import content_of, monday_of, state_of
from tests import gym
from tests.conftest import publish

State = Publication.State


@pytest.fixture
def week(furnished):
    gym.people(5)
    return gym.planned_week()


def test_a_publication_holds_a_target_for_everyone_at_every_station(week, coach):
    publication = publish(week, coach)
    assert publication.targets.count() == 5 * 3
    assert publication.pages.count() == 5
    assert (publication.done, publication.revision) == (publication.total, 1)
    assert publication.paper_a3
    assert publication.paper_a4


def test_a_target_never_exceeds_the_prescription_and_differs_between_athletes(week, coach):
    publication = publish(week, coach)
    rowing = list(publication.targets.filter(station=1, rung=0).values_list("dose", flat=True))
    assert max(rowing) <= 15
    assert len(set(publication.targets.filter(station=2).values_list("rung", "dose"))) > 1


def test_published_numbers_do_not_move_when_the_circuit_or_an_effort_changes(week, coach, staff):
    publication = publish(week, coach)
    before = list(publication.targets.values_list("athlete_id", "station", "dose", "hold"))
    StationOption.objects.update(dose=20)
    athlete = Athlete.objects.first()
    benchmark = Benchmark.objects.get(slug="1-min-row-calories")
    effort_record(athlete=athlete, benchmark=benchmark, typed="16", performed_on=today(), by=staff, confirmed=True)
    assert list(publication.targets.values_list("athlete_id", "station", "dose", "hold")) == before
    assert list(fresher_athletes(publication)) == [athlete]
    assert state_of(publication, content_of(week, gym.Gym.objects.get())) == "changed"


def test_a_second_revision_replaces_the_first_and_says_who_changed(week, coach):
    first = publish(week, coach)
    StationOption.objects.filter(movement__slug="row").update(dose=9, least_dose=5)
    second = publish(week, coach)
    first.refresh_from_db()
    assert (first.state, second.state, second.revision) == (State.SUPERSEDED, State.LIVE, 2)
    changes = changes_between(side_of(first), side_of(second))
    assert {change.station for change in changes} == {1}
    assert all(change.after["dose"] <= 9 < change.before["dose"] for change in changes if "dose" in change.before)


def test_a_day_that_is_over_keeps_its_targets_in_the_next_revision(furnished, coach):
    gym.people(3)
    week = gym.planned_week(None, *[gym.circuit()] * 2)
    first = publish(week, coach)
    StationOption.objects.filter(movement__slug="row").update(dose=9, least_dose=5)
    tuesday = week.starts_on + timedelta(days=1)
    second = publish(week, coach, day=tuesday)
    rows = ("session__key", "athlete_id", "station", "dose", "hold", "detail")
    monday = {"session__date": week.starts_on}
    assert list(second.targets.filter(**monday).values_list(*rows)) == list(
        first.targets.filter(**monday).values_list(*rows)
    )
    assert {change.date for change in changes_between(side_of(first), side_of(second))} == {tuesday}
    assert second.sessions.get(date=week.starts_on).circuit == first.sessions.get(date=week.starts_on).circuit


def test_a_day_that_is_over_stays_even_when_it_is_taken_off_or_moved(furnished, coach):
    gym.people(2)
    week = gym.planned_week(None, *[gym.circuit()] * 3)
    publish(week, coach)
    week.sessions.filter(weekday=0).delete()
    week.sessions.filter(weekday=1).update(weekday=4)
    second = publish(week, coach, day=week.starts_on + timedelta(days=2))
    offsets = [(session.date - week.starts_on).days for session in second.sessions.all()]
    assert offsets == [0, 1, 2, 4]
    assert second.targets.count() == 4 * 3 * 2


def test_a_limitation_or_a_newcomer_after_publishing_is_shown_to_the_coach(week, coach, coach_client):
    publication = publish(week, coach)
    limited = Athlete.objects.first()
    limitation = Limitation.objects.create(athlete=limited, kind="body", patterns=["pull"], starts_on=today())
    [newcomer] = gym.people(1)
    assert set(fresher_athletes(publication)) == {limited, newcomer}
    page = coach_client.get(reverse("sessions:week", args=[week.starts_on])).content.decode()
    named = re.search(r"A limitation or caution is newer than the published targets of (.*?)\.\s", page, re.DOTALL)[1]
    assert (limited.name in named, newcomer.name in named) == (True, False)
    again = publish(week, coach)
    assert not fresher_athletes(again)
    limitation_end(limitation=limitation)
    assert list(fresher_athletes(again)) == [limited]


def test_nobody_changed_when_nothing_did(week, coach):
    first, second = publish(week, coach), publish(week, coach)
    assert changes_between(side_of(first), side_of(second)) == []
    paths = [set(p.pages.values_list("athlete_id", "path")) for p in (first, second)]
    assert paths[0] == paths[1]  # the very same files: an athlete hears only of what changed


def test_the_number_of_queries_for_changes_does_not_grow(week, coach, django_assert_num_queries):
    gym.people(40)
    first = publish(week, coach)
    StationOption.objects.filter(movement__slug="row").update(dose=9, least_dose=5)
    second = publish(week, coach)
    with django_assert_num_queries(9):  # two a side, athletes, and what came in about them
        assert len(changes_between(side_of(first), side_of(second))) > 30


def test_who_left_and_who_came_is_a_change(week, coach):
    first = publish(week, coach)
    gone = Athlete.objects.first()
    Athlete.objects.filter(pk=gone.pk).update(active=False)
    [new] = gym.people(1, tested=False)
    changes = changes_between(side_of(first), side_of(publish(week, coach)))
    assert {(c.athlete.pk, c.before is None, c.after is None) for c in changes} == {
        (gone.pk, False, True),
        (new.pk, True, False),
    }


@pytest.mark.parametrize("case", ["no session", "no athlete", "running"])
def test_a_publish_that_cannot_be_is_refused_in_words_and_leaves_nothing(furnished, coach, case):
    if case != "no athlete":
        gym.people(1)
    week = Week.objects.create(starts_on=monday_of(today())) if case == "no session" else gym.planned_week()
    if case == "running":
        publication_request(week=week, by=coach)
    before = Publication.objects.count()
    says = {"no session": "no session yet", "no athlete": "no active athlete", "running": "right now"}[case]
    with pytest.raises(ValidationError, match=says):
        publication_request(week=week, by=coach)
    assert Publication.objects.count() == before


def test_an_athlete_without_any_benchmark_gets_gentle_rough_targets(furnished, coach):
    [untested] = gym.people(1, tested=False)
    publication = publish(gym.planned_week(), coach)
    targets = list(publication.targets.filter(athlete=untested))
    assert len(targets) == 3
    assert all(t.rung < 0 or t.sd_log > 0.12 for t in targets)
    assert not any(detail_of(t).benchmarks for t in targets)
    definition = publication.sessions.get().definition
    assert all(t.rung < 0 or t.dose <= 0.7 * definition.option_of(t).dose for t in targets)
    assert all(detail_of(t).untested for t in targets if t.rung >= 0)


def test_a_limitation_swaps_and_is_not_named_on_page_or_wall(week, coach):
    athlete = Athlete.objects.first()
    limitation = Limitation.objects.create(
        athlete=athlete, kind="body", patterns=["grip"], note="left shoulder", starts_on=today()
    )
    publication = publish(week, coach)
    pulling = publication.targets.get(athlete=athlete, station=2)
    assert pulling.rung == -1  # both pulls load the grip
    assert detail_of(pulling).reason == Reason.REST
    shown = files.read(publication.pages.get(athlete=athlete).path).decode()
    shown += json.dumps(wall_plan(publication.sessions.get(), ""))
    assert not any(word in shown for word in ("shoulder", "body part", "limitation", "grip"))
    limitation.review_on = publication.sessions.get().date
    limitation.save()
    assert publish(week, coach).targets.get(athlete=athlete, station=2).rung >= 0


def test_the_task_does_nothing_for_a_publication_that_is_gone_or_done(week, coach):
    publication = publish(week, coach)
    at = publication.live_at
    publishing.run(publication.pk)
    publishing.run(10_000)
    publication.refresh_from_db()
    assert publication.live_at == at


@pytest.mark.parametrize("step", ["insert_ignoring_conflicts", "render", "go_live"])
def test_a_worker_killed_at_any_step_loses_and_doubles_nothing(week, coach, monkeypatch, step):
    class Killed(BaseException):
        """Like SIGKILL: no handler of the code under test runs."""

    publication = publication_request(week=week, by=coach)
    with monkeypatch.context() as patch:
        patch.setattr(publishing, step, lambda *args: (_ for _ in ()).throw(Killed))
        with pytest.raises(Killed):
            publishing.run(publication.pk)
    assert publishing.requeue_silent() == {}  # it may still be alive
    Publication.objects.update(heartbeat_at=timezone.now() - timedelta(minutes=2))
    assert publishing.requeue_silent() == {publication.pk: True}
    publishing.run(publication.pk)
    publication.refresh_from_db()
    assert publication.state == State.LIVE
    assert publication.targets.count() == 15
    assert publication.pages.count() == 5


def test_a_worker_that_lost_its_claim_writes_nothing_more(week, coach, monkeypatch):
    publication = publication_request(week=week, by=coach)
    original = publishing.targets_of

    def taken_over(*args):
        Publication.objects.update(claim=uuid4())
        return original(*args)

    monkeypatch.setattr(publishing, "targets_of", taken_over)
    publishing.run(publication.pk)
    publication.refresh_from_db()
    assert publication.state == State.COMPUTING  # the other worker's business now
    assert not Target.objects.exists()


def test_a_failure_keeps_the_earlier_revision_and_says_what_to_do(week, coach, monkeypatch):
    first = publish(week, coach)
    second = publication_request(week=week, by=coach)
    monkeypatch.setattr(publishing.paper, "sheets", lambda *args: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        publishing.run(second.pk)
    first.refresh_from_db()
    second.refresh_from_db()
    assert (first.state, second.state) == (State.LIVE, State.FAILED)
    assert "worker's log" in second.failure


def test_a_circuit_that_cannot_be_scaled_is_named(week, coach, monkeypatch):
    def impossible(*args):
        raise ValueError("Station 1: choose a movement.")

    monkeypatch.setattr(publishing, "targets_of", impossible)
    publication = publication_request(week=week, by=coach)
    publishing.run(publication.pk)
    publication.refresh_from_db()
    assert publication.state == State.FAILED
    assert publication.failure.startswith("Mill race: Station 1: choose a movement.")


def test_a_publishing_that_is_cut_off_again_and_again_gives_up_in_words(week, coach):
    publication = publication_request(week=week, by=coach)
    old = timezone.now() - timedelta(minutes=2)
    Publication.objects.update(attempts=claims.MOST_ATTEMPTS, heartbeat_at=old)
    assert publishing.requeue_silent() == {}
    publication.refresh_from_db()
    assert publication.state == State.FAILED
    assert "Ask whoever hosts" in publication.failure


def test_a_broker_that_is_away_is_left_to_the_sweep(week, coach, monkeypatch, django_capture_on_commit_callbacks):
    def away(*args):
        raise ConnectionRefusedError

    monkeypatch.setattr(tasks.publish, "delay", away)
    with django_capture_on_commit_callbacks(execute=True):
        publication = publication_request(week=week, by=coach)
    assert publication.state == State.QUEUED


def test_the_number_of_queries_does_not_grow_with_the_athletes(furnished, coach):
    gym.people(3)
    week = gym.planned_week()
    counts = []
    for more in (0, 40):
        gym.people(more)
        publication = publication_request(week=week, by=coach)
        with CaptureQueriesContext(connection) as queries:
            publishing.run(publication.pk)
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_an_empty_day_and_a_session_taken_off_leave_the_published_week_alone(week, coach):
    publication = publish(week, coach)
    PlannedSession.objects.all().delete()
    assert publication.sessions.count() == 1
    assert PersonalPage.objects.count() == 5
