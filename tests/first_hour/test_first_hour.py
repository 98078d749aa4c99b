"""The first hour without script: each step is a page, its presses are safe to repeat, and what is there ticks it."""

from datetime import date, time, timedelta
from uuid import UUID

import pytest
from django.contrib.sessions.backends.db import SessionStore
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from athletes.benchmarks.starter import starter_load
from athletes.equipment.starter import machine_counts, machines_count
from athletes.gym.read import today
from athletes.models import Athlete, Effort, Gym, Link, Movement, TestDay
from sessions.circuits.read import with_stations
from sessions.first_hour.people import list_keep, list_read
from sessions.first_hour.steps import steps
from sessions.first_hour.typed import TYPED, typed_lists_drop
from sessions.first_hour.unknown import known_of, shortest_test_day, weeks_ahead
from sessions.first_hour.week import choices, days_to_plan, proposed_days, sessions_begin
from sessions.models import Circuit, PlannedSession
from sessions.publishing.draft import draft_side
from tests.conftest import client_of

LIST = "Nora Holtvarg; f; 1995; 64; 16 pull-ups\nNils Ottervang\nMai Thuyen; f; 1974; 57; left knee"
FIVE = "Fay; f; 25; 64\nMo; m; 30; 80\nFia; f; 45; 70\nMats; m; 55; 85\nFreya; f; 62; 60"
FLOOR = {"row": 4, "ski": 2, "bike": 2, "rig": 6, "box": 6, "bench": 0, "lane": 1}
KEY = "0b1f6f0e-6a25-4a3c-9a57-1c1f5f6f8a11"


def page(name: str) -> str:
    return reverse(f"sessions:first-hour{'-' if name else ''}{name}")


def done(gym: Gym) -> list[bool]:
    return [step.done for step in steps(gym, today())]


@pytest.fixture
def hall(owner) -> Gym:
    """A gym with the library, machines and five people of whom nothing is known."""
    gym = Gym.objects.create(pk=1, name="Hall", time_zone="Europe/Lisbon", class_times=["06:00", "18:30"])
    starter_load()
    machines_count(FLOOR)
    list_keep(text=FIVE, day=today(), by=owner)
    return gym


def begin_week(gym: Gym, owner) -> list[PlannedSession]:
    wanted = {choice.offer.circuit.slug: choice.day for choice in choices(gym, today()) if choice.ticked}
    return sessions_begin(wanted=wanted, hours=[time(6), time(18, 30)], by=owner, key=UUID(KEY))


@pytest.mark.django_db
def test_an_empty_gym_opens_on_its_first_step_for_owner_and_coaches(owner_client, coach_client, staff_client):
    assert owner_client.get("/").url == page("")
    assert owner_client.get(page("")).url == page("gym")
    assert coach_client.get("/").url == page("")
    assert staff_client.get("/").status_code == 200
    assert staff_client.get(page("people")).status_code == 403
    assert coach_client.post(page("gym"), {"name": "Mine"}).status_code == 403


@pytest.mark.django_db
def test_the_gym_is_named_and_what_is_missing_is_said(owner_client):
    sent = {"name": "Hafenhalle", "time_zone": "Europe/Berlin", "class_times": ""}
    assert b"This field is required" in owner_client.post(page("gym"), sent).content
    assert owner_client.post(page("gym"), {**sent, "class_times": "6:00, 18.30"}).url == page("people")
    assert done(Gym.objects.get()) == [True, False, False, False, False]
    assert owner_client.get("/").url == page("")


@pytest.mark.django_db
def test_a_list_is_shown_before_it_is_kept_and_kept_once(owner_client, owner):
    shown = owner_client.post(page("people"), {"text": LIST, "day": today(), "read": ""}).content.decode()
    assert "“left knee”" in shown
    assert not Athlete.objects.exists()
    assert not Movement.objects.exists()
    assert "Holtvarg" in owner_client.get(page("people")).content.decode()  # whoever leaves finds the list again
    for _ in range(2):
        assert owner_client.post(page("people"), {"text": LIST, "day": today(), "save": "1"}).url == page("room")
    assert Athlete.objects.count() == Link.objects.filter(athlete__isnull=False).count() == 3
    assert Effort.objects.get().benchmark.name == "Pull-up, most unbroken"
    assert Athlete.objects.get(name="Mai Thuyen").note.count("left knee") == 1
    assert Athlete.objects.get(name="Nils Ottervang").joined_on is None  # not said: not new


@pytest.mark.django_db
def test_a_list_that_was_not_saved_is_dropped_after_a_day_and_one_that_was_at_once(owner_client, coach_client):
    def lies(client) -> bool:
        return TYPED in SessionStore(client.session.session_key)

    for client in (owner_client, coach_client):
        client.post(page("people"), {"text": LIST, "day": today(), "read": ""})
        assert lies(client)
    owner_client.post(page("people"), {"text": LIST, "day": today(), "save": "1"})
    assert not lies(owner_client)
    typed_lists_drop()
    assert lies(coach_client)
    session = coach_client.session
    session[TYPED] = {**session[TYPED], "at": (timezone.now() - timedelta(hours=25)).isoformat()}
    session.save()
    typed_lists_drop()
    assert not lies(coach_client)
    assert "left knee" not in coach_client.get(page("people")).content.decode()


@pytest.mark.django_db
def test_results_of_tomorrow_are_refused_and_the_list_stays(owner_client):
    later = today() + timedelta(days=1)
    answer = owner_client.post(page("people"), {"text": LIST, "day": later, "save": "1"})
    assert answer.status_code == 422
    assert "has not come yet" in answer.content.decode()
    assert "Holtvarg" in answer.content.decode()


@pytest.mark.django_db
def test_reading_a_longer_list_asks_the_database_no_more(owner, django_assert_max_num_queries):
    starter_load()
    with django_assert_max_num_queries(40):
        few = list_read(text=LIST, day=today(), by=owner)
    assert few.newcomers == 3
    many = "\n".join(f"Name{chr(97 + n % 26)}{chr(97 + n // 26)} Last; f; 64 kg; {n % 20} pull-ups" for n in range(60))
    with django_assert_max_num_queries(40):
        assert list_read(text=many, day=today(), by=owner).newcomers == 60


@pytest.mark.django_db
def test_a_list_is_read_before_the_library_is_there_as_it_is_kept_afterwards_and_writes_nothing(owner):
    text = LIST + "\nBen Askelby; m; row 2k 8:11.4; 20 cal row in 1:00; deadlift 120x5\nIda Quist; f; row 2k 1:11"
    with CaptureQueriesContext(connection) as queries:
        before = list_read(text=text, day=today(), by=owner)
    assert {query["sql"].split()[0] for query in queries} == {"SELECT"}
    starter_load()
    assert before == list_read(text=text, day=today(), by=owner)
    assert before.results > 1


@pytest.mark.django_db
def test_machines_go_up_by_a_button_and_the_library_comes_in_the_same_press(owner_client, coach_client):
    pressed = owner_client.post(page("room"), {"row": "3", "library": "on", "more": "row"})
    assert 'name="row" value="4"' in pressed.content.decode()
    assert not Movement.objects.exists()  # counted on the page alone
    for _ in range(2):
        assert owner_client.post(page("room"), {"row": "4", "library": "on"}).url == page("week")
    assert machine_counts()["row"] == 4
    assert Movement.objects.count() == 96
    assert coach_client.post(page("room"), {"row": "9"}).url == page("week")
    assert machine_counts()["row"] == 4  # the owner's to say
    assert b"from 0 to 60" in owner_client.post(page("room"), {"row": "-2"}).content


@pytest.mark.django_db
def test_without_the_library_the_week_leads_to_it(owner_client):
    assert page("room") in owner_client.get(page("week")).content.decode()


@pytest.mark.django_db
def test_circuits_stand_on_their_days_once_and_say_so_when_nothing_is_ticked(hall, owner_client):
    form = owner_client.get(page("week")).context["form"]
    sent = {"key": KEY, "hours": "06:00, 18:30"}
    sent |= {field.html_name: field.value() for _, _, field in form.rows()}
    assert b"Tick at least one circuit" in owner_client.post(page("week"), sent).content
    sent |= {take.html_name: "on" for _, take, _ in form.rows() if take.value()}
    for _ in range(2):
        assert owner_client.post(page("week"), sent).url == page("unknown")
    planned = PlannedSession.objects.standing()
    assert planned.count() == 3
    assert len({session.date for session in planned}) == 3
    assert {hour.starts_at for hour in planned[0].hours.all()} == {time(6), time(18, 30)}
    assert done(hall) == [True, True, True, True, False]


@pytest.mark.parametrize("offset", range(7))
def test_a_first_week_lies_ahead_in_one_week_with_a_day_between(offset):
    day = date(2026, 11, 23) + timedelta(days=offset)
    found = proposed_days(day)
    assert len({d.isocalendar()[:2] for d in found}) == 1
    assert found[0] > day
    assert all((b - a).days == 2 for a, b in zip(found, found[1:], strict=False))
    assert set(found) <= set(days_to_plan(day))


@pytest.mark.django_db
def test_a_circuit_is_written_for_what_stands_here(hall, owner):
    machines_count({"row": 0, "rig": 0})
    found = {choice.offer.circuit.slug: choice for choice in choices(hall, today())}
    mixed = found["three-for-a-mixed-room"]
    assert not mixed.offer.fits
    assert mixed.offer.lacks == ["rig place"]
    long = found["squat-then-breathe"]
    assert long.offer.without == ["rowing ergometer"]
    begin_week(hall, owner)
    names = {
        option.movement.name
        for circuit in with_stations(Circuit.objects.all())
        for station in circuit.stations.all()
        for option in station.options.all()
    }
    assert "Row" not in names


# What a coach asks of five people of both sexes from 25 to 62 of whom nothing is known, on their first day (common
# practice): work that everyone finishes with something left, no strict pull-up, no heavy bell, no jump, no bar above
# half of what the middle of the gym lifts, and nobody left without work.
@pytest.mark.django_db
def test_a_first_week_of_unknown_people_is_one_that_a_coach_would_sign(hall, owner):
    begin_week(hall, owner)
    (week,) = weeks_ahead(today())
    days = draft_side(week, hall, None).days
    assert len(days) == 3
    for day in days:
        for (_, number), shown in day.targets.items():
            assert shown.rung >= 0
            option = day.definition.stations[number - 1].options[shown.rung]
            assert not option.movement.needs_skill
            assert not option.movement.high_eccentric
            assert shown.detail.untested
            assert shown.dose <= day.definition.stations[number - 1].options[0].dose or shown.rung
            if option.movement.name == "Back squat":
                assert 15 <= shown.load_kg <= 50
            if option.movement.engine:
                assert 4 <= shown.dose <= 9  # of 12 or 13 kcal written: two thirds at most
    oldest, youngest = Athlete.objects.get(name="Freya"), Athlete.objects.get(name="Mo")
    row = {pk: shown.dose for (pk, number), shown in days[0].targets.items() if number == 1}
    assert row[oldest.pk] < row[youngest.pk]


@pytest.mark.django_db
def test_a_short_test_day_is_offered_and_planned_once(hall, owner, owner_client):
    begin_week(hall, owner)
    known = known_of(weeks_ahead(today()), hall)
    assert [one.words for one in known] == ["by feel at first"] * 5
    offer = shortest_test_day(hall, today())
    assert 1 <= len(offer.benchmarks) <= 3
    assert offer.people == 5
    assert 0 < offer.minutes <= 90
    sent = {"key": KEY, "date": today() + timedelta(days=1), "starts_at": "18:30"}
    for _ in range(2):
        assert owner_client.post(page("unknown"), sent).url == page("publish")
    assert TestDay.objects.get().slots.count() == len(offer.tests)
    gone = {**sent, "key": KEY.replace("0b", "0c"), "date": today() - timedelta(days=1)}
    assert "This day is over" in owner_client.post(page("unknown"), gone).content.decode()


@pytest.mark.django_db
def test_it_stands_on_today_until_a_week_is_published_or_it_is_left_out(hall, owner, owner_client, staff_client):
    assert "The first hour" in owner_client.get("/").content.decode()
    assert "The first hour" not in staff_client.get("/").content.decode()
    assert owner_client.post(page("leave")).url == "/"
    assert 'id="first-hour"' not in owner_client.get("/").content.decode()
    assert page("") in owner_client.get(reverse("athletes:gym")).content.decode()  # reachable later
    assert owner_client.post(page("leave"), {"restore": "1"}).url == page("")
    assert not Gym.objects.get().first_hour_over


@pytest.mark.django_db
def test_a_published_week_ends_it(live_week, coach_client):
    gym = Gym.objects.first() or Gym(pk=1)
    assert done(gym)[4]
    assert 'id="first-hour"' not in coach_client.get("/").content.decode()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("name", "leads_to"),
    [
        ("athletes:movements", "room"),
        ("athletes:benchmarks", "room"),
        ("sessions:circuits", "week"),
        ("athletes:list", "people"),
        ("this-week", "week"),
    ],
)
def test_an_empty_list_says_what_to_do_next(coach_client, name, leads_to):
    assert page(leads_to) in coach_client.get(reverse(name), follow=True).content.decode()


@pytest.mark.django_db
def test_who_cannot_sign_in_yet_is_told_how(owner):
    assert "manage.py owner" not in Client().get(reverse("login")).content.decode()
    owner.delete()
    assert "manage.py owner NAME" in Client().get(reverse("login")).content.decode()


@pytest.mark.django_db
@pytest.mark.parametrize("step", ["gym", "people", "room", "week", "unknown", "publish"])
def test_no_step_asks_more_of_the_database_with_more_people(hall, owner, django_assert_max_num_queries, step):
    begin_week(hall, owner)
    client = client_of(owner)
    client.get(page(step))
    with django_assert_max_num_queries(120) as few:
        client.get(page(step))
    Athlete.objects.bulk_create(Athlete(name=f"N{n}", board_name=f"N{n}", sex="female") for n in range(20))
    with django_assert_max_num_queries(len(few) + 2):
        client.get(page(step))
