"""Walk-ins: targets at once, frozen like everyone's; twice is once."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from athletes.gym.read import today
from athletes.models import Athlete, Link
from sessions.clock.live import wall_plan
from sessions.floor.attendance import attendance_mark
from sessions.floor.sheet import sheet_of
from sessions.floor.walk_ins import walk_in_add, walk_in_new
from sessions.floor.write import dose_change
from sessions.models import Attendance, Publication, PublishedSession, Target
from tests import gym
from tests.conftest import publish
from tests.floor.floor import HOUR, phone_page, tap_on, target_of


@pytest.fixture
def session(furnished, coach) -> PublishedSession:
    gym.people(2)
    week = publish(gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7), coach)
    return week.sessions.get(date=today())


@pytest.fixture
def late(session) -> Athlete:
    """Somebody with results, who takes part again since the week was published."""
    return gym.people(1)[0]


def new(session, by, name="Wanda Quist", board_name="Wanda", key=None) -> Athlete:
    return walk_in_new(session=session, hour=HOUR, name=name, board_name=board_name, key=key or uuid4(), by=by)


def test_somebody_new_has_careful_targets_a_page_and_a_link_at_once(session, staff):
    athlete = new(session, staff)
    targets = Target.objects.filter(session=session, athlete=athlete)
    assert targets.count() == 3
    assert targets.exclude(rung=-1).exists()
    for target in targets.exclude(rung=-1):
        option = session.circuit["stations"][target.station - 1]["options"][target.rung]
        assert target.dose <= 0.7 * option["dose"]  # nothing is known about them
    assert athlete.joined_on is None  # nobody has said
    assert "by feel" in phone_page(session, athlete)
    assert Link.objects.get(athlete=athlete).revoked_at is None
    assert Attendance.objects.get().athlete == athlete
    row = next(row for row in sheet_of(session, HOUR).rows if row.athlete == athlete.pk)
    assert row.walk_in
    assert row.came_at == HOUR
    assert all(cell.rough or cell.rest for cell in row.cells)


def test_the_same_tap_twice_makes_one(session, staff):
    key = uuid4()
    assert new(session, staff, key=key) == new(session, staff, key=key)
    assert Athlete.objects.filter(name="Wanda Quist").count() == 1
    assert Target.objects.filter(session=session, athlete__name="Wanda Quist").count() == 3
    assert Attendance.objects.count() == 1
    with pytest.raises(ValidationError, match="already used to add Wanda Quist"):
        new(session, staff, name="Somebody Else", key=key)


def test_an_athlete_of_the_gym_gets_what_publishing_would_have_given(session, late, staff, coach):
    for _ in range(2):
        walk_in_add(session=session, hour=HOUR, athlete=late, by=staff)
    own = list(Target.objects.filter(session=session, athlete=late).values_list("rung", "dose", "load_kg", "sd_log"))
    assert len(own) == 3
    again = publish(session.publication.week, coach).sessions.get(date=today())
    published = Target.objects.filter(session=again, athlete=late).values_list("rung", "dose", "load_kg", "sd_log")
    assert own == list(published)


def test_the_rest_of_the_week_is_theirs_too_and_what_is_over_is_not(session, late, staff):
    walk_in_add(session=session, hour=HOUR, athlete=late, by=staff)
    days = set(Target.objects.filter(athlete=late).values_list("session__date", flat=True))
    assert days == set(session.publication.sessions.filter(date__gte=today()).values_list("date", flat=True))


def test_others_keep_what_they_had(session, late, staff):
    before = list(Target.objects.exclude(athlete=late).values())
    walk_in_add(session=session, hour=HOUR, athlete=late, by=staff)
    assert list(Target.objects.exclude(athlete=late).values()) == before


def test_a_walk_in_alone_is_no_roll_of_the_class(session, late, staff):
    everyone = len(wall_plan(session, HOUR)["people"])
    walk_in_add(session=session, hour=HOUR, athlete=late, by=staff)
    names = [one["name"] for one in wall_plan(session, HOUR)["people"]]
    assert len(names) == everyone + 1
    assert late.board_name in names
    first = session.targets.exclude(athlete=late).first().athlete
    attendance_mark(session=session, athlete_id=first.pk, hour=HOUR, by=staff)
    assert {one["name"] for one in wall_plan(session, HOUR)["people"]} == {first.board_name, late.board_name}


def test_a_walk_ins_dose_changes_like_everyones(session, late, staff, coach):
    walk_in_add(session=session, hour=HOUR, athlete=late, by=staff)
    target = target_of(session, late, 1)
    dose_change(session=session, tap=tap_on(target, "easier"), by=coach)
    assert target_of(session, late, 1).dose < target.dose


def test_nobody_is_added_to_another_day_or_to_a_week_that_was_replaced(session, late, staff, coach):
    other = session.publication.sessions.exclude(pk=session.pk).first()
    with pytest.raises(ValidationError, match="on the day of the class"):
        walk_in_add(session=other, hour=HOUR, athlete=late, by=staff)
    Publication.objects.update(state="superseded")
    with pytest.raises(ValidationError, match="published again in this moment"):
        walk_in_add(session=session, hour=HOUR, athlete=late, by=staff)
    assert not Target.objects.filter(athlete=late).exists()


def test_who_does_not_take_part_is_not_added(session, late, staff):
    late.active = False
    late.save()
    with pytest.raises(ValidationError, match="does not take part"):
        walk_in_add(session=session, hour=HOUR, athlete=late, by=staff)


# ---- the page ----


@pytest.fixture
def address(session) -> str:
    return f"{reverse('sessions:floor-walk-in', args=[session.pk])}?hour={HOUR}"


def test_staff_add_somebody_new_with_a_name_alone(session, address, staff_client):
    sent = {"key": str(uuid4()), "name": "Wanda Quist", "board_name": ""}
    for _ in range(2):
        shown = staff_client.post(address, sent, follow=True).content.decode()
        assert "Wanda Quist is in the class" in shown
    athlete = Athlete.objects.get(name="Wanda Quist")
    assert athlete.board_name == "Wanda"
    assert f'data-athlete="{athlete.pk}"' in shown
    assert "walk-in</small>" in shown


def test_staff_add_who_is_missing_from_the_list(session, late, address, staff_client):
    assert str(late) in staff_client.get(address).content.decode()
    known = reverse("sessions:floor-walk-in-known", args=[session.pk, late.pk])
    for _ in range(2):
        shown = staff_client.post(f"{known}?hour={HOUR}", follow=True).content.decode()
        assert f"{late} is in the class." in shown
    assert str(late) not in staff_client.get(address).content.decode()


@pytest.mark.parametrize(
    ("sent", "message"),
    [
        ({"name": "", "board_name": ""}, "This field is required"),
        ({"name": "athlete 0001", "board_name": "X"}, "somebody called Athlete 0001 already"),
        ({"name": "Nina New", "board_name": "A0001"}, "Someone else has this name on the board"),
    ],
)
def test_a_name_that_cannot_be_says_what_to_do(session, address, staff_client, sent, message):
    assert message in staff_client.post(address, {"key": str(uuid4()), **sent}).content.decode()
    assert Athlete.objects.count() == 2


def test_another_days_page_says_when(session, late, staff_client):
    PublishedSession.objects.filter(pk=session.pk).update(date=today() - timedelta(days=1))
    known = reverse("sessions:floor-walk-in-known", args=[session.pk, late.pk])
    assert "on the day of the class" in staff_client.post(known, follow=True).content.decode()
