"""The floor sheet over HTTP: who stands where, what a role may do, attendance, and how many queries it takes."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from athletes.gym.read import today
from athletes.models import Athlete, Limitation
from sessions.clock.live import phone_plan, wall_plan
from sessions.clock.write import now_ms, run_start
from sessions.floor.attendance import attendance_mark
from sessions.floor.sheet import sheet_of
from sessions.floor.write import dose_change
from sessions.models import Attendance, Circuit, Pin, PublishedSession
from tests import gym
from tests.conftest import publish
from tests.floor.floor import HOUR, phone_page, send, tap_on, target_of


@pytest.fixture
def session(furnished, coach) -> PublishedSession:
    gym.people(5)
    gym.people(1, tested=False)
    week = publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)
    return week.sessions.get(date=today())


@pytest.fixture
def athlete(session) -> Athlete:
    return Athlete.objects.get(board_name="A0002")


def address(session: PublishedSession, name: str = "floor", hour: str = HOUR) -> str:
    return f"{reverse(f'sessions:{name}', args=[session.pk])}?hour={hour}"


def page(client, session: PublishedSession, **more) -> str:
    return client.get(address(session, **more)).content.decode()


def test_everyone_stands_under_the_station_where_the_wall_has_them(session):
    sheet = sheet_of(session, HOUR)
    on_sheet = {row.board_name: (group.number, row.turn) for group in sheet.groups for row in group.rows}
    assert on_sheet == {one["name"]: (one["group"], one["turn"]) for one in wall_plan(session, HOUR)["people"]}
    assert len(on_sheet) == 6
    assert [group.movement for group in sheet.groups] == ["Row", "Pull up", "Goblet squat", ""]


def test_doses_stand_with_unit_swap_and_firmness(session, coach_client):
    rows = {row.board_name: row for row in sheet_of(session, HOUR).rows}
    row, pull_ups, squats = rows["A0000"].cells  # four pull-ups unbroken
    assert (row.unit, pull_ups.mark, pull_ups.movement) == ("kcal", "a", "Ring row")
    assert squats.unit.startswith("×")
    assert all(cell.rough for cell in rows["A0005"].cells)  # nothing is known about them
    assert not rows["A0002"].cells[0].rough
    shown = page(coach_client, session)
    assert "Starts at" in shown
    assert "<b>a</b> Ring row" in shown
    assert "first time: by feel" in rows["A0005"].notes
    assert all(cell.by_feel for cell in rows["A0005"].cells if cell.dose)
    assert (pull_ups.own, rows["A0002"].cells[1].own) == (True, False)


def test_queries_do_not_grow_with_the_athletes(session, coach, coach_client, django_assert_max_num_queries):
    with django_assert_max_num_queries(30) as few:
        page(coach_client, session)
    gym.people(20)
    again = publish(session.publication.week, coach).sessions.get(date=today())
    for person in Athlete.objects.all():
        attendance_mark(session=again, athlete_id=person.pk, hour=HOUR, by=coach)
    with django_assert_max_num_queries(30) as many:
        assert "A0025" in page(coach_client, again)
    assert len(many) == len(few)
    with django_assert_max_num_queries(18):
        coach_client.get(address(again, "floor-rows"))


def test_coaches_change_doses_and_staff_do_not(session, athlete, coach_client, staff_client):
    assert 'data-act="menu"' in page(coach_client, session)
    assert 'data-act="menu"' not in page(staff_client, session)
    target = target_of(session, athlete, 1)
    tap = {"athlete": athlete.pk, "station": 1, "act": "easier", "key": uuid4()}
    tap["basis"] = [target.rung, target.dose, target.load_kg]
    assert send(staff_client, session, "dose", **tap).status_code == 403
    assert not Pin.objects.exists()
    for _ in range(2):
        answer = send(coach_client, session, "dose", **tap).json()
        assert answer["refused"] == ""
        assert "by hand" in answer["html"]
        assert answer["html"].count("<tr") == 1
    assert Pin.objects.count() == 1
    late = send(coach_client, session, "dose", **{**tap, "key": uuid4()}).json()
    assert "changed this dose meanwhile" in late["refused"]
    assert "by hand" in late["html"]
    assert "set by your coach" in phone_page(session, athlete)


@pytest.mark.parametrize("body", [{}, {"athlete": 1, "station": 1, "act": "double", "key": "x", "basis": [0]}])
def test_a_tap_that_cannot_be_read_is_refused_in_words(session, coach_client, body):
    answer = send(coach_client, session, "dose", **body)
    assert answer.status_code == 422
    assert "Reload" in answer.json()["refused"]


def test_who_came_is_dealt_over_the_stations_and_alone_on_the_wall(session, staff):
    people = {athlete.board_name: athlete.pk for athlete in Athlete.objects.all()}

    def mark(*names: str, came: bool = True) -> None:
        for name in names:
            attendance_mark(session=session, athlete_id=people[name], hour=HOUR, by=staff, came=came)

    def on_wall() -> dict[str, int]:
        return {one["name"]: one["group"] for one in wall_plan(session, HOUR)["people"]}

    board = on_wall()
    assert sorted(board.values()) == [0, 0, 1, 1, 2, 2]
    mark("A0005", "A0001", "A0003", "A0000")
    before = on_wall()
    assert set(before) == {"A0005", "A0001", "A0003", "A0000"}
    assert sorted(before.values()) == [0, 0, 1, 2]  # no group is larger than it must be
    assert before["A0005"] == board["A0005"]  # who comes first keeps the place of the board
    mark("A0001", came=False)  # nobody else moves, and the next one fills the gap
    assert on_wall() == {name: group for name, group in before.items() if name != "A0001"}
    mark("A0002", "A0002")
    assert on_wall() == {**{n: g for n, g in before.items() if n != "A0001"}, "A0002": before["A0001"]}
    assert {row.board_name for row in sheet_of(session, HOUR).rows} == set(people)
    assert len(wall_plan(session, "18:30")["people"]) == 6  # nobody is marked there
    attendance_mark(session=session, athlete_id=people["A0005"], hour="18:30", by=staff)
    assert set(on_wall()) == {"A0002", "A0003", "A0000"}
    away = Athlete.objects.get(board_name="A0004")
    assert phone_plan(session, HOUR, away)["name"] == "Mill race"  # a phone follows all the same


def test_attendance_takes_few_queries_and_is_safe_to_repeat(session, athlete, staff, django_assert_max_num_queries):
    facts = {"session": session, "athlete_id": athlete.pk, "hour": HOUR, "by": staff}
    for came, kept in [(True, 1), (True, 1), (False, 0), (False, 0), (True, 1)]:
        with django_assert_max_num_queries(24):  # a place is found among everyone's, however many they are
            attendance_mark(**facts, came=came)
        assert Attendance.objects.count() == kept
    assert Attendance.objects.get().marked_by == staff


def test_who_comes_to_another_class_of_the_session_moves_there(session, athlete, staff):
    facts = {"session": session, "athlete_id": athlete.pk, "by": staff}
    attendance_mark(**facts, hour="18:30")
    assert sheet_of(session, HOUR).came == 0
    attendance_mark(**facts, hour=HOUR, came=False)  # nothing to take back here
    assert sheet_of(session, "18:30").came == 1
    attendance_mark(**facts, hour=HOUR)
    assert Attendance.objects.get().hour == HOUR


def test_staff_mark_who_came_and_take_it_back(session, athlete, staff_client):
    for came in (True, True, False):
        assert send(staff_client, session, "attendance", athlete=athlete.pk, came=came).json()["refused"] == ""
        assert Attendance.objects.exists() == came
    send(staff_client, session, "attendance", athlete=athlete.pk, came=True)
    shown = page(staff_client, session)
    assert "data-came>1</b> of <span data-listed>6</span> here" in shown
    assert "at 06:00" in page(staff_client, session, hour="18:30")
    refused = send(staff_client, session, "attendance", hour="07:00", athlete=athlete.pk, came=True).json()
    assert "no class at this time" in refused["refused"]


def test_a_page_is_told_only_what_changed(session, athlete, staff_client):
    sheet = sheet_of(session, HOUR)
    have = {"have": [row.tag for row in sheet.rows]}
    rows = address(session, "floor-rows")
    told = staff_client.post(rows, have, content_type="application/json").json()
    assert told["html"].strip() == ""
    assert told["order"] == [[row.athlete, row.place] for row in sheet.rows]
    send(staff_client, session, "attendance", athlete=athlete.pk, came=True)
    again = staff_client.post(rows, have, content_type="application/json").json()
    assert 'aria-pressed="true"' in again["html"]
    assert staff_client.get(rows).json()["html"].count("<tr") == len(sheet.rows)


def test_an_earlier_revision_leads_to_what_everyone_sees_now(session, coach, coach_client, athlete):
    again = publish(session.publication.week, coach).sessions.get(date=today())
    answer = coach_client.get(address(session))
    assert answer.status_code == 302
    assert answer["Location"] == address(again)
    assert send(coach_client, session, "attendance", athlete=athlete.pk, came=True).json()["refused"] == ""
    assert coach_client.get(address(session, "floor-rows")).json()["plan"] == again.pk


def test_the_sheet_says_when_a_class_runs_with_the_stations_of_an_earlier_revision(session, coach, coach_client):
    run_start(session=session, hour="06:00", key=uuid4(), by=None, at_ms=now_ms(), ready_s=3)
    same = publish(session.publication.week, coach).sessions.get(date=today())
    assert "keep to those" not in page(coach_client, same)
    circuit = Circuit.objects.get()
    circuit.stations.order_by("position").last().delete()
    other = publish(session.publication.week, coach).sessions.get(date=today())
    assert len(other.definition.stations) == 2
    assert "keep to those" in page(coach_client, other)


def test_a_session_that_was_taken_out_has_no_sheet(session, coach, coach_client):
    session.publication.week.sessions.get(weekday=today().weekday()).delete()
    PublishedSession.objects.filter(pk=session.pk).update(date=today() + timedelta(days=1))  # not over yet
    publish(session.publication.week, coach)
    PublishedSession.objects.filter(pk=session.pk).update(date=today())
    assert coach_client.get(address(session)).status_code == 404


def test_a_day_to_come_has_doses_to_change_and_nothing_to_mark(session, coach_client, athlete):
    PublishedSession.objects.filter(pk=session.pk).update(date=today() + timedelta(days=1))
    shown = page(coach_client, session)
    assert 'data-act="menu"' in shown
    assert 'data-act="came"' not in shown
    refused = send(coach_client, session, "attendance", athlete=athlete.pk, came=True).json()["refused"]
    assert "still to come" in refused


def test_home_and_publication_lead_to_the_sheets(session, staff_client):
    home = staff_client.get("/").content.decode()
    assert f"{reverse('sessions:floor', args=[session.pk])}?hour=18:30" in home
    publication = staff_client.get(reverse("sessions:publication", args=[session.publication_id])).content.decode()
    assert publication.count("Floor sheet<") == 7


@pytest.mark.django_db(transaction=True)
def test_an_athlete_who_was_erased_meanwhile_is_not_marked(session, staff_client):
    refused = send(staff_client, session, "attendance", athlete=999_999, came=True).json()["refused"]
    assert "gone" in refused
    assert not Attendance.objects.exists()


def test_a_limitation_entered_since_is_flagged_until_somebody_has_swapped(session, athlete, coach, coach_client):
    before = Limitation.objects.create(athlete=athlete, kind="body", starts_on=today(), patterns=["grip"])
    Limitation.objects.filter(pk=before.pk).update(created_at=session.publication.requested_at - timedelta(days=1))
    assert "limitation:" not in page(coach_client, session)  # what was published knows of it
    Limitation.objects.create(athlete=athlete, kind="body", starts_on=today(), patterns=["squat"])
    flags = {row.board_name: row.flags for row in sheet_of(session, HOUR).rows}
    assert flags.pop("A0002") == ("limitation: swap 1", "limitation: swap 3")
    assert set(flags.values()) == {()}
    assert "limitation: swap 3" in page(coach_client, session)
    target = target_of(session, athlete, 3)
    dose_change(session=session, tap=tap_on(target, "easier"), by=coach)  # whoever does that has seen it
    flags = {row.board_name: row.flags for row in sheet_of(session, HOUR).rows}
    assert flags["A0002"] == ("limitation: swap 1",)
