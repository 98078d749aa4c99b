"""A build: drawn before it starts, put into the weeks, and what a coach decides after each time."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from athletes.gym.read import today
from athletes.models import Gym
from sessions.builds.outlook import outlook
from sessions.builds.propose import proposal
from sessions.builds.write import build_start, decide
from sessions.circuits.freeze import definition_of, varied
from sessions.circuits.read import with_stations
from sessions.models import Build, Circuit, Log, LogEntry, Target
from sessions.weeks.read import content_of
from sessions.weeks.write import series_plan
from tests import gym
from tests.conftest import publish

MONDAY = date(2026, 11, 30)
DAYS = [MONDAY + timedelta(weeks=week) for week in range(4)]


def written() -> Circuit:
    return with_stations(Circuit.objects.all()).get(pk=gym.circuit().pk)


def drawn(steps, grows="rounds", intent="hard"):
    return outlook(definition_of(written()), grows, DAYS[: len(steps)], steps, [], intent, Gym.objects.get()).steps


def sent(of: Circuit, **more) -> dict:
    return {
        "key": str(uuid4()), "circuit": of.pk, "starts_on": "2026-12-01", "until": "2026-12-22", "every": "1",
        "hours": "06:00", "intent": "hard", "grows": "rounds", "first": "15", "last": "27", "eased": "0", **more,
    }  # fmt: skip


def started(steps=(5, 6, 7, 9), starts_on=MONDAY, by=None) -> Build:
    build = Build(circuit=gym.circuit(), starts_on=starts_on, hours=["06:00"], steps=list(steps))
    return build_start(build=build, by=by)


def rounds_of(build: Build) -> list[int]:
    return list(build.sessions.standing().order_by("build_step").values_list("rotations", flat=True))


def test_longer_is_held_by_fewer_and_leaves_less(furnished):
    gym.people(20)
    steps = drawn([3, 6, 12, 24])
    assert [step.definition.minutes for step in steps] == [9, 18, 36, 72]
    holds = [step.holds for step in steps]
    assert holds == sorted(holds, reverse=True)
    assert holds[0] > holds[-1]
    for group in range(3):
        left = [step.left[group].percent for step in steps]
        assert left == sorted(left, reverse=True)
    assert all(step.left[0].percent >= step.left[1].percent >= step.left[2].percent for step in steps)


def test_an_impossible_plan_is_seen_before_it_starts(furnished):
    gym.people(20)
    last = drawn([2, 40])[-1]
    assert last.too_much
    assert last.advice == "longer than a class of 60 min"
    heavy = drawn([100, 250], "dose")[-1]
    assert heavy.advice.startswith(f"too much for {heavy.people - heavy.holds}")
    assert heavy.left[2].ends


@pytest.mark.parametrize(("grows", "steps"), [("dose", [60, 100, 140]), ("rest", [90, 60, 45])])
def test_more_of_it_or_less_rest_leaves_less(furnished, grows, steps):
    gym.people(12)
    left = [step.left[1].percent for step in drawn(steps, grows)]
    assert left == sorted(left, reverse=True)
    assert left[0] > left[-1]


def test_a_gym_without_athletes_draws_a_build_too(furnished):
    assert [(step.people, step.holds, step.left) for step in drawn([5, 6])] == [(0, 0, ())] * 2


def test_the_outlook_asks_no_more_queries_for_more_athletes(furnished):
    gym.people(3)
    circuit = definition_of(written())

    def draw():
        outlook(circuit, "rounds", DAYS, [5, 6, 7, 9], [], "hard", Gym.objects.get())

    with CaptureQueriesContext(connection) as few:
        draw()
    gym.people(20)
    with CaptureQueriesContext(connection) as many:
        draw()
    assert len(many) <= len(few)


def test_a_coach_draws_a_build_and_puts_it_into_the_weeks_once(furnished, coach_client):
    gym.people(4)
    fields = sent(gym.circuit())
    url = reverse("sessions:build-create")
    page = coach_client.post(url, {**fields, "draw": "1"}).content.decode()
    assert page.count('name="step"') == 4
    assert "of 4" in page
    assert not Build.objects.exists()  # nothing is planned until it is put into the weeks
    fields |= {"step": ["5", "6", "6", "9"], "drawn_of": "rounds/15/27/0/4"}
    for _ in range(2):
        assert coach_client.post(url, fields).status_code == 302
    build = Build.objects.get()
    assert rounds_of(build) == [5, 6, 6, 9]
    assert [session.date for session in build.sessions.order_by("build_step")] == [
        date(2026, 12, 1) + timedelta(weeks=week) for week in range(4)
    ]
    content = content_of(build.sessions.get(build_step=3).week, Gym.objects.get())
    assert content["sessions"][0]["circuit"]["rotations"] == 9
    assert Circuit.objects.get().rotations == 5  # the circuit itself stays as written


def test_putting_it_into_the_weeks_is_undone(furnished, coach_client):
    answer = coach_client.post(reverse("sessions:build-create"), sent(gym.circuit()), follow=True)
    assert "4 sessions are in their weeks" in answer.content.decode()
    build = Build.objects.get()
    keys = [session.key for session in build.sessions.all()]
    coach_client.post(reverse("sessions:planned-take-off"), {"session": keys, "week": "2026-12-01"})
    assert not build.sessions.standing().exists()


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"until": "2026-11-01"}, "ends before it begins"),
        ({"first": "300"}, "Between 1 and 40 rounds of 3 min"),
        ({"circuit": "99999"}, "Select a valid choice"),
        ({"until": "2150-01-01"}, "Choose days between 2000 and 2100"),
        ({"grows": "rest", "first": "60", "last": "40"}, "no interval can be shorter"),
        ({"step": ["5", "x", "6", "7"], "drawn_of": "rounds/15/27/0/4"}, "whole number"),
        ({"step": ["5", "77", "6", "7"], "drawn_of": "rounds/15/27/0/4"}, "Each step lies between 1 and 40 rounds"),
    ],
)
def test_a_build_that_cannot_be_says_what_to_mend(furnished, coach_client, wrong, words):
    answer = coach_client.post(reverse("sessions:build-create"), sent(gym.circuit(), **wrong))
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not Build.objects.exists()


def test_a_plain_series_repeats_the_circuit_as_written(furnished, coach_client):
    coach_client.post(reverse("sessions:build-create"), sent(gym.circuit(), grows="nothing", every="2"))
    build = Build.objects.get()
    assert rounds_of(build) == [None, None]
    days = [session.date for session in build.sessions.order_by("build_step")]
    assert days == [date(2026, 12, 1), date(2026, 12, 15)]


def test_dose_and_rest_of_a_day(furnished):
    definition = definition_of(written())
    lighter = varied(definition, dose_percent=50, interval_s=75)
    assert [station.prescribed.dose for station in lighter.stations] == [7, 4, 5]
    assert lighter.stations[0].prescribed.least_dose == 4
    assert lighter.interval_s == 75
    assert varied(definition) == definition


def done_with(build: Build, coach, rpe: float, short: int = 0) -> None:
    """The first time of a build is over: everyone logs it, `short` of them without the last round."""
    session = build.sessions.get(build_step=0)
    publication = publish(session.week, coach, day=session.date)
    published = publication.sessions.get(key=session.key)
    athletes = sorted({target.athlete_id for target in published.targets.all()})
    for place, athlete in enumerate(athletes):
        log = Log.objects.create(
            key=uuid4(), athlete_id=athlete, session=published, session_key=session.key, date=session.date, rpe=rpe,
            source="floor", done_at="2026-01-01T10:00Z",
        )  # fmt: skip
        for target in Target.objects.filter(session=published, athlete=athlete, rung__gte=0):
            LogEntry.objects.create(
                log=log, station=target.station, movement_id=published.definition.option_of(target).movement.id,
                rounds=target.rounds - (place < short), dose=target.dose, asked_rounds=target.rounds,
                asked_dose=target.dose,
            )  # fmt: skip


@pytest.fixture
def begun(furnished, coach) -> Build:
    gym.people(4)
    return started(starts_on=gym.this_monday() - timedelta(days=7), by=coach)


@pytest.mark.parametrize(
    ("rpe", "short", "expected"), [(7, 0, "progress"), (7, 2, "hold"), (10, 3, "back"), (7, 4, "back")]
)
def test_after_each_time_it_is_proposed_what_to_do(begun, coach, rpe, short, expected):
    done_with(begun, coach, rpe, short)
    found = proposal(begun, today())
    assert found.decision == expected
    assert f"{4 - short} of 4 held every round" in found.reason
    assert f"RPE {rpe}" in found.reason


def test_who_is_not_like_the_class_is_named_with_the_reason(begun, coach, coach_client):
    done_with(begun, coach, 7)
    Log.objects.filter(athlete__name="Athlete 0000").update(stopped=True)
    found = proposal(begun, today())
    assert [(one.athlete.name, one.proposal) for one in found.unlike] == [("Athlete 0000", "back")]
    page = coach_client.get(reverse("sessions:build", args=[begun.pk])).content.decode()
    assert "stopped early; RPE 7" in page


def test_two_logs_say_nothing_of_a_class(begun, coach):
    done_with(begun, coach, 7)
    Log.objects.filter(athlete__name__in=["Athlete 0000", "Athlete 0001"]).delete()
    found = proposal(begun, today())
    assert (found.decision, found.unlike) == ("", [])
    assert "too few" in found.reason


def test_nothing_is_proposed_before_the_first_time(furnished):
    assert proposal(started(), MONDAY - timedelta(days=1)) is None


@pytest.mark.parametrize(
    ("decision", "steps"), [("progress", [5, 6, 7, 9]), ("hold", [5, 5, 6, 7]), ("back", [5, 5, 5, 6])]
)
def test_the_coach_decides_and_takes_it_back(begun, coach, coach_client, decision, steps):
    done_with(begun, coach, 7)
    url = reverse("sessions:build-decision", args=[begun.pk])
    for _ in range(2):  # pressed twice
        coach_client.post(url, {"place": "0", "decision": decision})
    begun.refresh_from_db()
    assert begun.steps == steps
    coming = [s for s in begun.sessions.order_by("build_step") if s.date >= today()]
    assert [s.rotations for s in coming] == steps[-len(coming) :]
    coach_client.post(url, {"undo": "1", "place": "0"})
    assert rounds_of(begun) == [5, 6, 7, 9]


def test_what_is_over_is_never_changed(furnished):
    build = started(starts_on=gym.this_monday() - timedelta(days=21))
    decide(build=build, place=0, decision="hold", day=today())
    over = [s.rotations for s in build.sessions.order_by("build_step") if s.date < today()]
    assert len(over) >= 3
    assert over == [5, 6, 7, 9][: len(over)]


@pytest.mark.parametrize(("scope", "changed"), [("this", {1}), ("following", {1, 2, 3}), ("all", {0, 1, 2, 3})])
def test_this_one_the_following_or_all_of_a_build_change(furnished, coach_client, scope, changed):
    build = started(starts_on=gym.this_monday() + timedelta(days=7))
    session = build.sessions.get(build_step=1)
    fields = {
        "weekday": "4", "circuit": build.circuit_id, "hours": "07:00", "intent": "easy", "scope": scope,
        "version": session.version, "rotations": session.rotations,
    }  # fmt: skip
    answer = coach_client.post(reverse("sessions:planned-change", args=[session.pk]), fields)
    assert answer.status_code == 302, answer.content.decode()
    found = {s.build_step for s in build.sessions.all() if (s.weekday, s.intent) == (4, "easy")}
    assert found == changed
    assert rounds_of(build) == [5, 6, 7, 9]


def test_a_second_decision_begins_from_the_steps_before_the_first(begun):
    for decision, steps in (("hold", [5, 5, 6, 7]), ("back", [5, 5, 5, 6]), ("progress", [5, 6, 7, 9])):
        decide(build=begun, place=0, decision=decision, day=today())
        begun.refresh_from_db()
        assert begun.steps == steps


@pytest.mark.parametrize("place", ["", "x", "4", "9" * 5000])
def test_a_step_that_is_none_decides_nothing(begun, coach_client, place):
    sent_place = {"place": place, "decision": "hold"}
    assert coach_client.post(reverse("sessions:build-decision", args=[begun.pk]), sent_place).status_code == 404


def test_off_the_clock_only_the_dose_grows(furnished, coach_client):
    fields = sent(gym.circuit(gym.FOR_TIME))
    assert "only the dose can grow" in coach_client.post(reverse("sessions:build-create"), fields).content.decode()
    coach_client.post(reverse("sessions:build-create"), {**fields, "grows": "dose", "first": "100", "last": "120"})
    assert Build.objects.get().steps[-1] == 120


def test_no_session_of_a_build_follows_into_a_day_that_is_over(furnished):
    build = started(starts_on=today(), steps=(5, 6))
    session = build.sessions.get(build_step=1)
    session.weekday = 0
    series_plan(planned=session, scope="all", changed=["weekday"], hours=[], day=today())
    assert all(one.date >= today() for one in build.sessions.all())
