"""Who stands where in a class: marks, the start of the clock, by hand, ways out, waves, the log of the whole class."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from athletes.equipment.starter import machines_count
from athletes.equipment.write import machine_move
from athletes.gym.read import today
from athletes.models import Athlete, Machine, MachineType
from athletes.people.merge import athletes_merge
from athletes.people.write import athlete_change
from sessions.class_versions import class_moved, class_version, classes_moved
from sessions.clock.live import phone_plan, wall_plan
from sessions.clock.write import now_ms, run_change, run_start
from sessions.floor.attendance import attendance_mark
from sessions.floor.logs import class_log_write, rounds_made
from sessions.floor.offers import offer_take, offers_of
from sessions.logs.write import log_write
from sessions.models import Attendance, ClassRun, Coming, Log, PublishedSession, Start, Target
from sessions.places.read import expected_at, own_hours, roll_of
from sessions.places.write import start_set
from tests import gym
from tests.conftest import publish

HOUR, EVENING = "06:00", "18:30"


@pytest.fixture
def session(furnished, coach) -> PublishedSession:
    gym.people(6)
    week = publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)
    session = week.sessions.get(date=today())
    session.targets.filter(station=1).update(rung=0, dose=8)  # everyone rows
    class_moved(session)
    return session


@pytest.fixture
def people(session) -> list[Athlete]:
    return list(Athlete.objects.order_by("board_name"))


def rowers(count: int) -> None:
    kind = MachineType.objects.get(movements__slug="row")
    Machine.objects.filter(type=kind).delete()
    Machine.objects.bulk_create(Machine(type=kind, number=1 + n) for n in range(count))


def mark(session, athlete, hour: str = HOUR, came: bool = True) -> None:
    attendance_mark(session=session, athlete_id=athlete.pk, hour=hour, by=None, came=came)


def renamed(athlete, board_name: str) -> None:
    athlete = Athlete.objects.get(pk=athlete.pk)
    athlete.board_name = board_name
    athlete_change(athlete=athlete)


def begin(session, hour: str = HOUR) -> ClassRun:
    return run_start(session=session, hour=hour, key=uuid4(), by=None, at_ms=now_ms(), ready_s=3)


def on_wall(session, hour: str = HOUR) -> dict[str, int]:
    return {one["name"]: one["group"] for one in wall_plan(session, hour)["people"]}


def test_once_the_clock_runs_nobody_moves_and_late_ones_go_where_there_is_room(session, people):
    rowers(2)
    for athlete in people[:4]:
        mark(session, athlete)
    before = on_wall(session)
    begin(session)
    assert on_wall(session) == before
    for athlete in people[4:]:
        mark(session, athlete)
    after = on_wall(session)
    assert {name: after[name] for name in before} == before
    assert sorted(after.values()) == [0, 0, 1, 1, 2, 2]


def test_a_class_in_which_nobody_was_marked_begins_with_everyone_and_a_mark_moves_nobody(session, people):
    rowers(2)
    before = on_wall(session)
    begin(session)
    assert len(before) == 6
    mark(session, people[3])
    assert on_wall(session) == before


def test_who_is_not_there_has_no_place_on_their_phone_that_others_may_have(session, people):
    rowers(2)
    mark(session, people[0])
    assert phone_plan(session, HOUR, people[0])["group"] is not None
    assert phone_plan(session, HOUR, people[1])["group"] is None


def test_who_finds_no_machine_waits_and_gets_the_first_that_becomes_free(session, people):
    rowers(1)
    for athlete in people[:4]:
        mark(session, athlete)
    assert len(on_wall(session)) == 3
    [waits] = wall_plan(session, HOUR)["waiting"]
    assert phone_plan(session, HOUR, Athlete.objects.get(board_name=waits))["waits"]
    gone = next(athlete for athlete in people[:4] if athlete.board_name != waits)
    mark(session, gone, came=False)
    assert waits in on_wall(session)
    assert wall_plan(session, HOUR)["waiting"] == []


def test_taking_back_the_only_mark_gives_places_to_nobody_who_is_not_there(session, people):
    rowers(1)
    mark(session, people[0])
    mark(session, people[0], came=False)
    assert not Start.objects.exists()


@pytest.mark.parametrize("act", ["rest", "swap"])
def test_a_rest_minute_or_a_swap_makes_room(session, people, coach, act):
    rowers(1)
    for athlete in people[:4]:
        mark(session, athlete)
    [offer], waiting, crowded = offers_of(session, HOUR)
    assert (waiting, offer.short, crowded) == (1, ("Row: 1 machine",), [])
    assert "Bike" in offer.swap
    facts = {"session": session, "hour": HOUR, "athlete_id": offer.athlete, "act": act, "key": uuid4(), "by": coach}
    for _ in range(2):
        offer_take(**facts)
    target = Target.objects.get(session=session, athlete=offer.athlete, station=1)
    assert target.rung == {"rest": -1, "swap": 1}[act]
    assert len(on_wall(session)) == 4
    assert offers_of(session, HOUR) == ([], 0, [])
    assert not roll_of(session, HOUR).floor().crowded()


def test_the_second_wave_begins_when_the_first_is_done(session, people, coach):
    rowers(1)
    for athlete in people[:4]:
        mark(session, athlete)
    [offer], *_ = offers_of(session, HOUR)
    later = Athlete.objects.get(pk=offer.athlete)
    offer_take(session=session, hour=HOUR, athlete_id=later.pk, act="wave", key=uuid4(), by=coach)
    assert wall_plan(session, HOUR)["later"] == [later.board_name]
    first = begin(session)
    plan = phone_plan(session, HOUR, later)
    assert (plan["wave"], plan["now"]) == (2, 1)
    ClassRun.objects.filter(pk=first.pk).update(
        starts_ms=first.starts_ms - 3_600_000, over_ms=first.over_ms - 3_600_000
    )  # an hour ago
    second = begin(session)
    assert second.wave == 2
    assert list(on_wall(session)) == [later.board_name]
    early = people[0] if people[0] != later else people[1]
    plan = phone_plan(session, HOUR, early)
    assert (plan["wave"], plan["now"]) == (1, 2)
    late = next(athlete for athlete in people[4:] if athlete.pk not in (early.pk, later.pk))
    mark(session, late)  # comes while the second is on, and goes with it
    assert set(on_wall(session)) == {later.board_name, late.board_name}
    assert Start.objects.get(athlete=late).wave == 2
    run_change(run=second, key=uuid4(), kind="end", at_ms=now_ms(), by=None)  # at once: no round was made
    made = [rounds_made(session, HOUR, athlete) for athlete in (early, later)]
    assert made == [session.definition.rotations, 0]


def test_a_class_that_was_started_by_mistake_begins_again_with_the_same_people(session, people, coach):
    rowers(1)
    for athlete in people[:4]:
        mark(session, athlete)
    [offer], *_ = offers_of(session, HOUR)
    offer_take(session=session, hour=HOUR, athlete_id=offer.athlete, act="wave", key=uuid4(), by=coach)
    run_change(run=begin(session), key=uuid4(), kind="end", at_ms=now_ms(), by=None)
    assert begin(session).wave == 1


def test_who_does_not_take_part_any_more_leaves_the_wall_too(session, people):
    rowers(4)
    Coming.objects.bulk_create(
        Coming(athlete=one, session_key=session.key, date=session.date, hour=HOUR) for one in people
    )
    assert people[0].board_name in on_wall(session)
    Athlete.objects.filter(pk=people[0].pk).update(active=False)
    assert people[0].board_name not in on_wall(session)


def test_a_place_that_somebody_leaves_by_hand_goes_to_who_waits(session, people):
    rowers(1)
    for athlete in people[:4]:
        mark(session, athlete)
    waits = roll_of(session, HOUR).waiting()[0].line.athlete
    moved = next(athlete for athlete in people[:4] if athlete.pk != waits)
    start_set(session=session, athlete_id=moved.pk, hour=HOUR, group=0, wave=2)
    assert roll_of(session, HOUR).waiting() == []
    assert Start.objects.filter(athlete=waits).exists()


def test_who_is_moved_by_hand_stands_there_and_never_where_a_machine_is_missing(session, people):
    rowers(1)
    for athlete in people[:3]:
        mark(session, athlete)
    groups = on_wall(session)
    moved = next(athlete for athlete in people if groups.get(athlete.board_name) == 0)
    with pytest.raises(ValidationError, match="finds none free at Row"):
        start_set(session=session, athlete_id=moved.pk, hour=HOUR, group=1)
    rowers(2)
    for _ in range(2):
        start_set(session=session, athlete_id=moved.pk, hour=HOUR, group=1)
    assert on_wall(session)[moved.board_name] == 1
    with pytest.raises(ValidationError, match="Mark them as here first"):
        start_set(session=session, athlete_id=people[5].pk, hour=HOUR, group=0)
    with pytest.raises(ValidationError, match="no such class"):
        start_set(session=session, athlete_id=moved.pk, hour="07:00", group=0)


def test_people_are_expected_where_they_chose_or_mostly_came(session, people):
    ids = [athlete.pk for athlete in people]
    assert expected_at(session, HOUR, ids) == (frozenset(ids), False)
    for days in (2, 4, 9):
        day = today() - timedelta(days=days)
        Attendance.objects.create(athlete=people[0], session_key=uuid4(), date=day, hour=HOUR)
    Coming.objects.create(athlete=people[1], session_key=session.key, date=session.date, hour=EVENING)
    assert expected_at(session, HOUR, ids) == (frozenset({people[0].pk}), True)
    assert expected_at(session, EVENING, ids) == (frozenset({people[1].pk}), True)
    assert own_hours(session, ids) == {people[0].pk: HOUR, people[1].pk: EVENING}


def test_the_version_moves_with_everything_that_is_shown_and_each_time(session, people):
    seen = [class_version(session)]
    for change in (
        lambda: mark(session, people[0]),
        lambda: mark(session, people[0], came=False),
        lambda: begin(session),
        lambda: classes_moved([(session.key, session.date)]),
        lambda: classes_moved([(session.key, session.date)]),
        lambda: machine_move(machine=Machine.objects.first(), active=False),
        lambda: renamed(people[1], "Otter"),
        lambda: athletes_merge(keep=people[2], gone=people[3], by=None),
    ):
        change()
        seen.append(class_version(session))
    assert seen == sorted(set(seen))
    renamed(people[1], "Otter")
    assert class_version(session) == seen[-1]


def test_machines_that_come_or_go_move_the_classes_to_come_and_none_before(session):
    PublishedSession.objects.filter(pk=session.pk).update(date=today() + timedelta(days=1))
    past = session.publication.sessions.exclude(pk=session.pk).earliest("date")
    PublishedSession.objects.filter(pk=past.pk).update(date=today() - timedelta(days=8))
    session.refresh_from_db()
    past.refresh_from_db()
    before = class_version(session), class_version(past)
    machines_count({"rower": 1})
    assert (class_version(session) > before[0], class_version(past)) == (True, before[1])


def test_the_class_is_logged_as_planned_but_for_whom_that_is_not_known(session, people, coach):
    rowers(4)
    for athlete in people[:4]:
        mark(session, athlete)
    first_time = people[0]
    for target in session.targets.filter(athlete=first_time):
        session.targets.filter(pk=target.pk).update(detail={**target.detail, "untested": True})
    said = {"key": uuid4(), "rpe": 9.0, "pain": True, "stopped": False, "note": "knee", "entries": []}
    key, end_ms = uuid4(), now_ms()
    facts = {"session": session, "hour": HOUR, "key": key, "at_ms": end_ms, "by": coach}
    assert class_log_write(**facts) == 3
    assert class_log_write(**facts) == 3  # sent again: nobody twice, and the same answer
    assert Log.objects.count() == 3
    assert not Log.objects.filter(athlete=first_time).exists()
    # What an athlete said after the class arrives late, and stands above it all the same.
    log_write(athlete=people[1], session=session, content={**said, "done_at": timezone.now()}, source="phone")
    assert Log.objects.standing().get(athlete=people[1]).pain
    assert class_log_write(**facts, undo=True) == 2
    assert set(Log.objects.standing().values_list("athlete", flat=True)) == {people[1].pk}
    with pytest.raises(ValidationError, match="no such class"):
        class_log_write(**{**facts, "hour": "07:00"})


def test_taking_the_class_log_back_lets_what_an_athlete_had_said_stand_again(session, people, coach):
    rowers(4)
    mark(session, people[1])
    before = timezone.now() - timedelta(minutes=30)
    said = {"key": uuid4(), "rpe": 5.0, "pain": False, "stopped": False, "note": "", "entries": [], "done_at": before}
    log_write(athlete=people[1], session=session, content=said, source="phone")
    assert class_log_write(session=session, hour=HOUR, key=uuid4(), at_ms=now_ms(), by=coach) == 0  # it is logged


def test_a_press_of_the_clock_is_a_matter_of_the_run_alone(session, people):
    rowers(2)
    run = begin(session)
    starts = list(Start.objects.values_list("athlete", "group"))
    run_change(run=run, key=uuid4(), kind="pause", at_ms=now_ms(), by=None)
    assert list(Start.objects.values_list("athlete", "group")) == starts


def test_no_names_are_better_than_some_of_a_roster_of_whom_nobody_knows_who_comes(session, people):
    rowers(1)
    assert on_wall(session) == {}  # three of six have a place, and nobody is marked
    mark(session, people[4])
    assert set(on_wall(session)) == {people[4].board_name}
