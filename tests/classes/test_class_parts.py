"""A class with parts: written, copied, published, logged and shown; a class without any is as it always was."""

from datetime import timedelta
from uuid import UUID, uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from athletes.gym.read import today
from athletes.links.write import link_issue
from athletes.models import Athlete, Gym
from sessions.classes.forms import PartsForm, sources, typed_rows
from sessions.classes.write import parts_copy, parts_write, template_save
from sessions.clock.live import phone_plan, wall_before, wall_plan
from sessions.clock.moment import Change, moment, rounds_made
from sessions.clock.read import shape_of_class
from sessions.floor.attendance import attendance_mark
from sessions.floor.sheet import sheet_of
from sessions.logs.class_end import cut_short
from sessions.logs.write import log_write
from sessions.models import Coming, Log, Part, PlannedSession, PublishedSession
from sessions.targets.history import load_history
from sessions.weeks.read import content_of, overview
from sessions.weeks.write import sessions_copy, week_ensure
from tests import gym
from tests.conftest import publish
from tests.phones import open_page


@pytest.fixture
def planned(furnished) -> PlannedSession:
    gym.people(4)
    week = gym.planned_week(gym.this_monday(), *[gym.circuit()] * 7)
    return week.sessions.get(weekday=today().weekday())


@pytest.fixture
def with_parts(planned) -> PlannedSession:
    parts_write(of=planned, parts=gym.class_parts())
    return planned


@pytest.fixture
def whole(with_parts, coach) -> PublishedSession:
    publish(with_parts.week, coach)
    return PublishedSession.objects.live().select_related("publication").get(key=with_parts.key)


@pytest.fixture
def strength(whole) -> PublishedSession:
    return PublishedSession.objects.live().get(part_of=whole.key)


def log(athlete: Athlete, session: PublishedSession, rounds: int) -> Log:
    entries = [
        {"station": t.station, "rounds": rounds, "dose": t.dose} for t in session.targets.filter(athlete=athlete)
    ]
    content = {"key": uuid4(), "rpe": 7, "pain": False, "stopped": False, "note": "", "done_at": timezone.now()}
    return log_write(athlete=athlete, session=session, content={**content, "entries": entries}, source="phone")


def opened(page: str, athlete: Athlete) -> str:
    """A page behind an athlete's link."""
    return open_page(link_issue(athlete=athlete, by=None), page).content.decode()


# --- Written ---


@pytest.mark.parametrize(
    ("parts", "says"),
    [
        ([{"kind": "briefing", "minutes": 3}], "one main circuit"),
        ([{"kind": "circuit"}, {"kind": "circuit"}], "one main circuit"),
        ([{"kind": "circuit"}, {"kind": "skill"}], "how many minutes"),
        ([{"kind": "circuit", "minutes": 10}], "takes the minutes that it lasts"),
        ([{"kind": "circuit"}] + 12 * [{"kind": "skill", "minutes": 1}], "at most 12"),
    ],
)
def test_what_cannot_be_a_class_is_refused_in_words(planned, parts, says):
    with pytest.raises(ValidationError, match=says):
        parts_write(of=planned, parts=parts)
    assert not planned.parts.exists()


def test_the_database_refuses_a_second_main_circuit(with_parts):
    with pytest.raises(IntegrityError, match="(?i)unique"):
        Part.objects.create(session=with_parts, kind="circuit", position=9)


def test_the_database_refuses_a_part_without_minutes(with_parts):
    with pytest.raises(IntegrityError, match="(?i)part_lasts"):
        Part.objects.create(session=with_parts, kind="skill", position=9)


def test_writing_again_keeps_the_keys_that_are_given_and_takes_out_the_others(with_parts):
    rows = list(with_parts.parts.values("key", "kind", "minutes", "words"))
    strength = with_parts.parts.get(kind="strength")
    again = [{**row, "circuit": strength.circuit if row["kind"] == "strength" else None} for row in rows[2:][::-1]]
    parts_write(of=with_parts, parts=again)
    assert list(with_parts.parts.values_list("kind", flat=True)) == ["cool_down", "circuit", "strength"]
    assert with_parts.parts.get(kind="strength").pk == strength.pk


def test_a_week_is_copied_with_its_parts_and_once_only(with_parts):
    into, key = week_ensure(with_parts.week.starts_on + timedelta(days=7)), uuid4()
    originals = with_parts.week.sessions.standing()
    copied = [len(sessions_copy(originals=originals, into=into, key=key)) for _ in range(2)]
    assert copied == [7, 0]
    copied = into.sessions.get(weekday=with_parts.weekday)
    facts = ("kind", "minutes", "words", "circuit", "position")
    assert list(copied.parts.values(*facts)) == list(with_parts.parts.values(*facts))
    assert not set(copied.parts.values_list("key")) & set(with_parts.parts.values_list("key"))


def test_a_template_is_kept_and_written_over_by_its_name(with_parts, coach):
    first = template_save(name="Lift first", parts=gym.class_parts(with_parts.circuit), by=coach)
    again = template_save(name="Lift first", parts=gym.class_parts(with_parts.circuit)[2:], by=coach)
    assert (again.pk, again.parts.count()) == (first.pk, 3)
    other = with_parts.week.sessions.exclude(pk=with_parts.pk).first()
    parts_copy(source=again, into=other)
    assert [part.kind for part in other.parts.all()] == ["strength", "circuit", "cool_down"]


def test_without_parts_a_week_is_frozen_as_it_always_was(planned):
    session = content_of(planned.week, Gym.objects.get())["sessions"][0]
    assert set(session) == {"key", "date", "hours", "intent", "headrooms", "hot", "caution", "note", "circuit"}


# --- Published ---


def test_the_class_is_frozen_with_its_parts_and_strength_as_a_session_of_its_own(whole, strength):
    assert [(p.kind, p.minutes) for p in whole.class_parts] == [
        ("briefing", 3), ("warm_up", 10), ("strength", 14), ("circuit", 15), ("cool_down", 6),
    ]  # fmt: skip
    assert (whole.place, strength.place, strength.class_key) == (3, 2, whole.key)
    assert whole.class_parts[2].session == str(strength.key)
    assert (whole.lasts_s, strength.definition.name) == (48 * 60, "Five by five")
    assert strength.targets.count() == Athlete.objects.count()
    assert overview(PlannedSession.objects.get(key=whole.key).week, Gym.objects.get()).state == "published"


def test_other_parts_keep_their_key_in_the_next_revision(with_parts, whole, strength, coach):
    publish(with_parts.week, coach)
    again = PublishedSession.objects.live().get(part_of=whole.key)
    assert (again.key, again.pk == strength.pk) == (strength.key, False)


def test_the_wall_names_the_parts_before_class(whole):
    headings = [heading for _, heading in wall_before(whole, timezone.now())["headings"]]
    assert [headings[n] for n in (0, 2, -1)] == ["Briefing", "Strength: Five by five", "Cool-down"]


def test_a_phone_shows_the_class_as_one_with_its_parts_in_order(whole, strength):
    athlete = Athlete.objects.first()
    page = opened("phone", athlete)
    assert page.count("<section data-session=") == 1
    places = [
        page.index(words)
        for words in ("Who is new.", "Strength: Five by five", "Goblet squat", "Circuit: Mill race", "Walk two laps.")
    ]
    assert places == sorted(places)
    assert "Strength: Five by five" in opened("phone-log", athlete)


def test_a_calendar_has_one_event_as_long_as_the_whole_class(whole):
    athlete = Athlete.objects.first()
    Coming.objects.create(athlete=athlete, session_key=whole.key, date=whole.date, hour="18:30")
    token = link_issue(athlete=athlete, by=None).calendar_token
    feed = Client().get(reverse("sessions:calendar", args=[token])).content.decode()
    day = f"{whole.date:%Y%m%d}"
    assert feed.count(f"DTSTART:{day}") == 1
    assert "14 min Strength" in feed.replace("\r\n ", "")


# --- On the clock ---


def test_the_clock_runs_through_all_parts(whole):
    shape = shape_of_class(whole)
    assert [part.kind for part in shape.parts] == ["words", "words", "every", "every", "words"]
    # Fourteen minutes for five sets of two: four minutes before them; before the circuit ten seconds.
    assert [part.ready_s for part in shape.parts] == [0, 0, 240, 10, 0]
    minutes = (0, 4, 14, 17.5, 27.5, 45)
    found = [moment(shape, 0, [], round(60_000 * minute)) for minute in minutes]
    assert [(at.part, at.phase) for at in found] == [
        (0, "work"), (1, "work"), (2, "ready"), (2, "work"), (3, "work"), (4, "work"),
    ]  # fmt: skip


def test_rounds_made_are_those_of_the_part(whole, strength):
    shape = shape_of_class(whole)
    pressed = [Change(60_000 * 13, "part", 2), Change(60_000 * 22, "part", 3), Change(60_000 * 30, "end")]
    now = 60_000 * 40
    assert rounds_made(shape, 0, pressed, now, strength.place) == (2, True)  # four minutes to warm up, two sets of two
    assert rounds_made(shape, 0, pressed, now, whole.place) == (2, True)
    assert rounds_made(shape, 0, [], 0, whole.place) == (5, False)


def test_wall_and_phone_get_every_part(whole, strength):
    wall = wall_plan(whole, "06:00")
    assert [part["title"] for part in wall["parts"]] == ["Briefing", "Warm-up", "Strength", "Circuit", "Cool-down"]
    assert [len(part.get("stations", [])) for part in wall["parts"]] == [0, 0, 1, 3, 0]
    assert all(len(part["people"]) == 4 for part in wall["parts"] if "people" in part)
    phone = phone_plan(whole, "06:00", Athlete.objects.first())
    assert phone["parts"][2]["stations"][0]["movement"] == "Goblet squat"


def test_who_came_came_to_all_parts_of_the_class(whole, strength, coach):
    athlete = Athlete.objects.first()
    attendance_mark(session=strength, athlete_id=athlete.pk, hour="06:00", by=coach)
    assert sheet_of(whole, "06:00").came == sheet_of(strength, "06:00").came == 1
    assert [heading for _, heading in sheet_of(strength, "06:00").sheets] == [
        "Strength: Five by five",
        "Circuit: Mill race",
    ]


def test_a_strength_part_that_ended_early_is_nobodys_miss(whole, strength):
    first, second, third, fourth = Athlete.objects.order_by("pk")
    logs = [log(athlete, strength, 3) for athlete in (first, second, third)]
    log(fourth, whole, 5)  # the circuit after it was whole
    assert cut_short(Log.objects.filter(pk__in=[one.pk for one in logs])) == {one.pk for one in logs}


def test_an_unlogged_part_of_a_class_one_came_to_is_taken_as_done(whole, strength, coach):
    from athletes.models import Movement

    Movement.objects.filter(slug="goblet-squat").update(high_eccentric=True)
    publish(PlannedSession.objects.get(key=whole.key).week, coach)
    strength = PublishedSession.objects.live().get(part_of=whole.key)
    athlete = Athlete.objects.first()
    attendance_mark(session=strength, athlete_id=athlete.pk, hour="06:00", by=coach)
    squat = strength.definition.stations[0].prescribed.movement.id
    asked = strength.targets.get(athlete=athlete)
    assert load_history([athlete], today()).biggest[0, squat] >= asked.dose * asked.rounds


# --- On the page ---


def typed(parts: list[dict]) -> dict:
    return {f"parts.{n}-{name}": value or "" for n, part in enumerate(parts) for name, value in part.items()}


def facts(planned: PlannedSession) -> dict:
    own = {"version": planned.version, "parts": "here"}
    return {"weekday": planned.weekday, "circuit": planned.circuit_id, "hours": "06:00", "intent": "hard", **own}


def test_parts_are_added_moved_timed_and_saved_without_scripts(planned, coach_client):
    address = reverse("sessions:planned-change", args=[planned.pk])
    page = coach_client.post(address, {**facts(planned), "do": "add"}).content.decode()
    assert 'name="parts.0-minutes"' in page
    assert not planned.parts.exists()
    rows = [{"kind": "briefing", "minutes": "3", "words": "Hello"}, {"kind": "circuit", "words": ""}]
    for do, shown in (("more.0", 'value="4"'), ("less.0", 'value="2"'), ("down.0", 'name="parts.1-minutes"')):
        assert shown in coach_client.post(address, {**facts(planned), **typed(rows), "do": do}).content.decode()
    coach_client.post(address, {**facts(planned), **typed(rows)})
    assert list(planned.parts.values_list("kind", "minutes", "words")) == [
        ("briefing", 3, "Hello"),
        ("circuit", None, ""),
    ]


def test_a_part_without_minutes_is_marked_and_nothing_is_lost(planned, coach_client):
    rows = [{"kind": "skill", "minutes": "soon", "words": "Rope"}, {"kind": "circuit", "words": ""}]
    page = coach_client.post(reverse("sessions:planned-change", args=[planned.pk]), {**facts(planned), **typed(rows)})
    assert ("whole number" in page.content.decode(), "Rope" in page.content.decode()) == (True, True)
    assert not planned.parts.exists()


def test_more_than_the_hour_is_said(with_parts, coach_client):
    with_parts.parts.filter(kind="warm_up").update(minutes=30)
    page = coach_client.get(reverse("sessions:planned-change", args=[with_parts.pk])).content.decode()
    assert "8 min more than a class has." in page
    with_parts.parts.filter(kind="strength").update(minutes=8)
    assert (
        "Strength has 8 min, and its circuit takes 10."
        in coach_client.get(reverse("sessions:planned-change", args=[with_parts.pk])).content.decode()
    )


def test_parts_of_another_class_are_taken_and_kept_as_a_template(with_parts, coach_client):
    other = with_parts.week.sessions.exclude(pk=with_parts.pk).first()
    address = reverse("sessions:planned-change", args=[other.pk])
    page = coach_client.post(
        address, {**facts(other), "do": "take", "like": f"session.{with_parts.pk}"}
    ).content.decode()
    assert ("Walk two laps." in page, other.parts.exists()) == (True, False)
    rows = [{"kind": "briefing", "minutes": "3", "words": ""}, {"kind": "circuit", "words": ""}]
    page = coach_client.post(address, {**facts(other), **typed(rows), "do": "keep", "template": "Short"}, follow=True)
    assert "Short (3 ·)" in page.content.decode()


def test_rows_come_in_the_order_of_their_numbers(rf, planned):
    post = rf.post("/", {"parts.2-kind": "circuit", "parts.0-kind": "skill", "parts.x-kind": "odd"}).POST
    assert [row["kind"] for row in typed_rows(post)] == ["skill", "circuit"]
    assert PartsForm(planned.circuit, post).on_page()[1].minutes == 15


def test_a_target_of_a_part_is_set_by_hand_before_and_after_it_is_published(with_parts, coach, coach_client):
    key, athlete = with_parts.parts.get(kind="strength").key, Athlete.objects.first()
    address = reverse("sessions:pin", args=[key, athlete.pk, 1])
    said = {"key": uuid4(), "rung": "0", "dose": "3", "load_kg": "16", "reason": "Knee"}
    assert coach_client.get(address).status_code == 200
    coach_client.post(address, said)
    publish(with_parts.week, coach)
    strength = PublishedSession.objects.live().get(part_of=with_parts.key)
    assert strength.targets.get(athlete=athlete).dose == 3
    coach_client.post(address, {**said, "key": uuid4(), "dose": "4"})
    assert strength.targets.get(athlete=athlete).dose == 4
    assert "Five by five" in coach_client.get(reverse("sessions:pins", args=[key])).content.decode()


def test_the_room_preview_of_a_part_is_of_its_circuit(with_parts, coach_client):
    address = reverse("sessions:room", args=[with_parts.pk])
    key = with_parts.parts.get(kind="strength").key
    assert "Five by five" in coach_client.get(f"{address}?part={key}").content.decode()
    assert coach_client.get(f"{address}?part={uuid4()}").status_code == 404


def test_the_api_writes_a_week_with_parts(planned, coach, client):
    from rest_framework.test import APIClient

    api = APIClient()
    api.force_authenticate(coach)
    week = api.get(f"/api/v1/weeks/{planned.week_id}/").json()
    session = week["sessions"][0]
    session["parts"] = [{"kind": "briefing", "minutes": 3}, {"kind": "circuit"}]
    api.put(f"/api/v1/weeks/{planned.week_id}/", week, format="json")
    kept = PlannedSession.objects.get(key=session["key"])
    assert [part.kind for part in kept.parts.all()] == ["briefing", "circuit"]
    stale = api.put(f"/api/v1/weeks/{planned.week_id}/", week, format="json")
    assert (stale.status_code, "Somebody changed" in stale.content.decode()) == (400, True)
    week = api.get(f"/api/v1/weeks/{planned.week_id}/").json()
    week["sessions"][0]["parts"] = [{"kind": "briefing", "minutes": 3}]
    refused = api.put(f"/api/v1/weeks/{planned.week_id}/", week, format="json")
    assert (refused.status_code, "one main circuit" in refused.content.decode()) == (400, True)
    assert UUID(session["key"]) == kept.key


def test_the_class_page_asks_no_more_for_more_parts(with_parts, coach_client, django_assert_max_num_queries):
    with django_assert_max_num_queries(22):
        coach_client.get(reverse("sessions:planned-change", args=[with_parts.pk]))


@pytest.mark.parametrize("odd", ["9" * 20, "9" * 5000, "²", "٣٤" * 9, "-1"])
def test_numbers_that_are_none_are_said_and_never_break_the_page(planned, coach_client, odd):
    address = reverse("sessions:planned-change", args=[planned.pk])
    main = {"kind": "circuit", "words": ""}
    for part in ({"minutes": odd, "circuit": ""}, {"minutes": "5", "circuit": odd}):
        rows = [{"kind": "skill", "words": "Rope", **part}, main]
        page = coach_client.post(address, {**facts(planned), **typed(rows)})
        assert page.status_code in (200, 422)
        assert "Rope" in page.content.decode()
        assert "field-error" in page.content.decode() or "errorlist" in page.content.decode()
        for do in ("more.0", f"up.{odd}", f"remove.{odd}"):
            assert coach_client.post(address, {**facts(planned), **typed(rows), "do": do}).status_code < 500
    taken = coach_client.post(address, {**facts(planned), "do": "take", "like": f"session.{odd}"})
    assert "Choose whose parts to take." in taken.content.decode()
    assert not planned.parts.exists()


def test_parts_are_not_taken_from_a_session_that_was_taken_off(with_parts, coach_client):
    other = with_parts.week.sessions.exclude(pk=with_parts.pk).first()
    assert with_parts in sources(other)
    PlannedSession.objects.filter(pk=with_parts.pk).update(removed_at=timezone.now())
    assert with_parts not in sources(other)
    address = reverse("sessions:planned-change", args=[other.pk])
    sent = {**facts(other), "do": "take", "like": f"session.{with_parts.pk}"}
    assert "Choose whose parts to take." in coach_client.post(address, sent).content.decode()
