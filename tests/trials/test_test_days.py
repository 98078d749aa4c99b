"""Planning a test day: heats for everyone who may be tested, on the machines that are there."""

import re
from datetime import date, timedelta
from itertools import pairwise
from uuid import uuid4

import pytest
from django.core import signing
from django.core.serializers import deserialize

from athletes import models
from athletes.gym.read import today
from athletes.models import Benchmark, Limitation, Machine
from athletes.trials.forms import TestDayForm, WalkInForm
from athletes.trials.read import short_names
from tests import gym

pytestmark = pytest.mark.django_db
NEW = "/test-days/new/"


@pytest.fixture
def room(furnished):
    return gym.people(5)


def sent(athletes=(), benchmarks=(), **more) -> dict:
    rows = Benchmark.objects.filter(slug__in=benchmarks)
    return {
        "key": str(uuid4()),
        "date": today().isoformat(),
        "starts_at": "18:00",
        "rest_min": 15,
        "change_over_s": 120,
        "open_places": 6,
        "athletes": [athlete.pk for athlete in athletes],
        "benchmarks": [row.pk for row in rows],
        "machines": list(Machine.objects.values_list("pk", flat=True)),
        **more,
    }


def slots():
    return list(models.TestSlot.objects.select_related("athlete", "benchmark", "machine__type").order_by("heat", "pk"))


def test_everyone_gets_a_heat_and_a_machine(coach_client, room):
    answer = coach_client.post(NEW, sent(room, ["2000-m-row", "pull-ups-unbroken"]))
    day = models.TestDay.objects.get()
    assert answer["Location"] == f"/test-days/{day.pk}/"
    assert len(slots()) == 10
    rows = [slot for slot in slots() if slot.benchmark.slug == "2000-m-row"]
    assert {slot.machine.type.name for slot in rows} == {"rowing ergometer"}
    assert len({(slot.heat, slot.machine_id) for slot in rows}) == 5
    assert len({slot.heat for slot in rows}) == 3  # five on two machines
    assert all(slot.machine is None for slot in slots() if slot.benchmark.slug == "pull-ups-unbroken")


def test_nobody_goes_all_out_twice_without_the_rest(coach_client, room):
    coach_client.post(NEW, sent(room, ["2000-m-row", "1-min-row-calories", "pull-ups-unbroken"]))
    for athlete in room:
        own = sorted((slot for slot in slots() if slot.athlete == athlete), key=lambda slot: slot.starts_at)
        for before, after in pairwise(own):
            ended = before.starts_at + timedelta(seconds=before.expected_s)
            assert after.starts_at - ended >= timedelta(minutes=15) - timedelta(seconds=0.1)
        assert [slot.benchmark.slug for slot in own][-1] in ("2000-m-row", "1-min-row-calories")


def test_the_first_heat_starts_when_it_was_said_in_the_gyms_own_time(coach_client, room):
    coach_client.post(NEW, sent(room[:1], ["2000-m-row"], date="2026-07-01", starts_at="18:30"))
    (slot,) = slots()
    assert slot.starts_at.isoformat() == "2026-07-01T17:30:00+00:00"


def test_sending_it_again_changes_nothing(coach_client, room):
    form = sent(room, ["2000-m-row"])
    first, again = (coach_client.post(NEW, form)["Location"] for _ in range(2))
    assert first == again
    assert len(slots()) == 5


def test_the_same_page_with_other_tests_is_refused_and_the_same_again_names_who_is_left_out(coach_client, room):
    Limitation.objects.create(athlete=room[0], kind="body", patterns=["pull"], starts_on=today())
    form = sent(room[:3], ["2000-m-row"])
    for _ in range(2):
        assert f"Left out: {room[0]} in 2000 m row" in coach_client.post(NEW, form, follow=True).content.decode()
    for others in (room, room[:2]):
        page = coach_client.post(NEW, form | {"athletes": [athlete.pk for athlete in others]}).content.decode()
        assert "Something else was kept from this page before." in page
    assert len(slots()) == 2


def test_picks_of_the_retest_list_are_taken_along(coach_client, room):
    row, pulls = (Benchmark.objects.get(slug=slug) for slug in ("2000-m-row", "pull-ups-unbroken"))
    picks = [f"{room[0].pk}-{row.pk}", f"{room[1].pk}-{pulls.pk}"]
    page = coach_client.get(NEW, {"pick": [*picks, "x-1", f"{10**8}-1", "1"]}).content.decode()
    assert page.count('name="pick"') == 2
    coach_client.post(NEW, sent(pick=picks))
    assert {(slot.athlete, slot.benchmark) for slot in slots()} == {(room[0], row), (room[1], pulls)}


def test_whom_a_limitation_keeps_out_is_left_out_and_named(coach_client, room):
    Limitation.objects.create(athlete=room[0], kind="body", patterns=["pull"], starts_on=today())
    page = coach_client.post(NEW, sent(room[:2], ["2000-m-row"]), follow=True).content.decode()
    assert [slot.athlete for slot in slots()] == [room[1]]
    assert f"Left out: {room[0]} in 2000 m row (a limitation)." in page


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"machines": []}, "needs a rowing ergometer, and none is there"),
        ({"athletes": []}, "Tick at least one benchmark and one athlete"),
        ({"starts_at": "noon"}, "Enter a valid time"),
    ],
)
def test_what_cannot_be_planned_says_what_to_do(coach_client, room, changed, words):
    page = coach_client.post(NEW, sent(room, ["2000-m-row"]) | changed)
    assert page.status_code == 200
    assert words in page.content.decode()
    assert not models.TestDay.objects.exists()


def test_when_nobody_is_left_it_says_so(coach_client, room):
    Limitation.objects.create(athlete=room[0], kind="body", patterns=["pull"], starts_on=today())
    page = coach_client.post(NEW, sent(room[:1], ["2000-m-row"])).content.decode()
    assert "Nobody is left to test." in page


def test_the_sheet_shows_heats_and_everyones_own_times(coach_client, staff_client, room):
    coach_client.post(NEW, sent(room, ["2000-m-row", "pull-ups-unbroken"]))
    page = staff_client.get(f"/test-days/{models.TestDay.objects.get().pk}/").content.decode()
    assert "18:00" in page
    assert page.count('class="heat-own"') == 10
    assert "Remove the plan" not in page  # a coach's


def test_who_came_unplanned_is_added_once(coach_client, staff_client, room, make_athlete):
    coach_client.post(NEW, sent(room, ["2000-m-row"]))
    day, late = models.TestDay.objects.get(), make_athlete("Late Comer")
    for _ in range(2):
        row = Benchmark.objects.get(slug="2000-m-row")
        page = staff_client.post(
            f"/test-days/{day.pk}/add/", {"athlete": late.pk, "benchmarks": [row.pk]}, follow=True
        ).content.decode()
    assert "Late Comer is on the list" in page
    assert "When there is room" in page
    assert day.slots.count() == 6
    assert "Nobody was added" in staff_client.post(f"/test-days/{day.pk}/add/", follow=True).content.decode()


def test_removing_a_plan_keeps_the_results(coach_client, room, record):
    coach_client.post(NEW, sent(room, ["2000-m-row"]))
    kept = record(room[0], Benchmark.objects.get(slug="2000-m-row"), "7:00", on=today())
    coach_client.post(f"/test-days/{models.TestDay.objects.get().pk}/remove/")
    assert not models.TestDay.objects.exists()
    kept.refresh_from_db()
    assert kept.voided_at is None


@pytest.fixture
def coming(coach_client, room):
    """A day nine days ahead, from 18:00; and how it is moved, as its page now shows it unless told otherwise."""
    ahead = today() + timedelta(days=9)
    coach_client.post(NEW, sent(room, ["2000-m-row"], date=ahead.isoformat()))
    day = models.TestDay.objects.get()

    def move(on, at="18:00", client=coach_client, **seen):
        now = {"seen_date": ahead.isoformat(), "seen_starts_at": "18:00:00"}
        form = {**now, "date": on.isoformat(), "starts_at": at, **seen}
        answer = client.post(f"/test-days/{day.pk}/move/", form, follow=True)
        day.refresh_from_db()
        return answer.content.decode() if answer.status_code == 200 else answer.status_code

    return day, move


def test_a_day_moves_and_its_heats_with_it(coming):
    (day, move), before = coming, [slot.starts_at for slot in slots()]
    for _ in range(2):  # sent again, nothing changes
        assert "heats and all" in move(today() + timedelta(days=10), "19:30")
    assert day.date == today() + timedelta(days=10)
    assert [slot.starts_at for slot in slots()] == [start + timedelta(days=1, hours=1.5) for start in before]


def test_heats_start_by_the_gyms_own_clock_whatever_it_does_in_between(coach_client, room, monkeypatch):
    monkeypatch.setattr("athletes.trials.write.today", lambda: date(2026, 10, 1))
    coach_client.post(NEW, sent(room[:1], ["2000-m-row"], date="2026-10-24"))
    seen = {"seen_date": "2026-10-24", "seen_starts_at": "18:00"}
    day = models.TestDay.objects.get()
    coach_client.post(f"/test-days/{day.pk}/move/", {**seen, "date": "2026-10-26", "starts_at": "18:00"})
    assert [slot.starts_at.isoformat() for slot in slots()] == ["2026-10-26T18:00:00+00:00"]  # summer time is over


def test_an_old_page_moves_nothing_back(coming):
    (day, move), ahead = coming, today() + timedelta(days=9)
    move(ahead + timedelta(days=1))
    move(ahead + timedelta(days=2), seen_date=(ahead + timedelta(days=1)).isoformat())
    assert "Someone else moved this day meanwhile." in move(ahead + timedelta(days=1))
    assert day.date == ahead + timedelta(days=2)


def test_a_day_does_not_move_away_from_its_results_nor_into_the_past(coming, record, room, staff_client):
    day, move = coming
    assert "This date is over." in move(today() - timedelta(days=1))
    assert "The day was not moved. Choose a date" in move(today(), "noon")
    move(today(), client=staff_client)
    now = {"seen_date": today().isoformat()}
    record(room[0], Benchmark.objects.get(slug="2000-m-row"), "7:00", on=today())
    assert "1 result is entered on this day already" in move(today() + timedelta(days=1), **now)
    assert day.date == today()
    assert "heats and all" in move(today(), "18:10", **now)  # later the same day: nothing stays behind
    models.TestDay.objects.update(date=today() - timedelta(days=1))
    assert "This day is over." in move(today(), seen_date=(today() - timedelta(days=1)).isoformat())


def test_a_limitation_that_holds_on_the_other_day_is_named(coming, room):
    day, move = coming
    begins = today() + timedelta(days=20)
    Limitation.objects.create(athlete=room[0], kind="body", patterns=["pull"], starts_on=begins)
    assert "should not be tested" not in move(begins - timedelta(days=1))
    assert f"<li>{room[0]} in 2000 m row (a limitation)</li>" in move(begins, seen_date=day.date.isoformat())


SINCE = [
    ({"leave_from": 1, "leave_until": 20}, "away until"),
    ({"leave_from": -3}, "away"),
    ({"leave_from": 0, "leave_until": 5}, "just back after a break"),
    ({"active": False}, "does not take part"),
]


@pytest.mark.parametrize(("facts", "why"), SINCE)
def test_what_is_known_since_the_plan_is_told_wherever_the_day_is_opened(coming, room, staff_client, facts, why):
    day, _ = coming
    dates = {name: today() + timedelta(days=to) for name, to in facts.items() if name != "active"}
    for url in (f"/test-days/{day.pk}/", f"/test-days/{day.pk}/grid/"):
        assert "should not be tested" not in staff_client.get(url).content.decode()
    models.Athlete.objects.filter(pk=room[0].pk).update(**facts | dates)
    for url in (f"/test-days/{day.pk}/", f"/test-days/{day.pk}/grid/"):
        page = staff_client.get(url).content.decode()
        assert f"<li>{room[0]} ({why}" in page
        assert page.count("<li>" + str(room[1])) == 0


def test_nothing_is_told_of_whom_a_coach_insisted_on_nor_of_a_day_that_is_over(coming, room, staff_client):
    day, _ = coming
    Limitation.objects.create(athlete=room[0], kind="pregnancy", starts_on=today())
    assert f"<li>{room[0]} (" in staff_client.get(f"/test-days/{day.pk}/").content.decode()
    day.slots.filter(athlete=room[0]).update(insisted="She was asked.")
    assert f"<li>{room[0]} (" not in staff_client.get(f"/test-days/{day.pk}/").content.decode()
    day.slots.update(insisted="")
    models.TestDay.objects.update(date=today() - timedelta(days=1))
    assert f"<li>{room[0]} (" not in staff_client.get(f"/test-days/{day.pk}/").content.decode()


def test_who_is_taken_off_the_list_can_be_put_back_where_they_stood(coming, room, staff_client):
    day, move = coming
    stood = list(day.slots.filter(athlete=room[0]).values())
    assert "Take off" in staff_client.get(f"/test-days/{day.pk}/").content.decode()
    page = staff_client.post(f"/test-days/{day.pk}/take-off/{room[0].pk}/", follow=True).content.decode()
    assert f"{room[0]} is off the list." in page
    assert not day.slots.filter(athlete=room[0]).exists()
    undo = {"slots": re.search(r'name="slots" value="([^"]+)"', page)[1]}
    for _ in range(2):  # sent again it changes nothing
        staff_client.post(f"/test-days/{day.pk}/put-back/", undo)
        assert list(day.slots.filter(athlete=room[0]).values()) == stood
    staff_client.post(f"/test-days/{day.pk}/take-off/{room[0].pk}/")
    move(day.date + timedelta(days=1))
    page = staff_client.post(f"/test-days/{day.pk}/put-back/", undo, follow=True).content.decode()
    assert "The list has changed meanwhile." in page
    page = staff_client.post(f"/test-days/{day.pk}/put-back/", {"slots": "made:up"}, follow=True).content.decode()
    assert "This cannot be put back." in page
    assert not day.slots.filter(athlete=room[0]).exists()


def test_nobody_is_taken_off_what_was_entered_nor_off_a_day_that_is_over(coming, room, staff_client):
    day, move = coming
    day.slots.filter(athlete=room[0]).update(outcome="stopped")
    staff_client.post(f"/test-days/{day.pk}/take-off/{room[0].pk}/")
    assert day.slots.get(athlete=room[0]).outcome == "stopped"
    page = staff_client.post(f"/test-days/{day.pk}/take-off/{room[1].pk}/", follow=True).content.decode()
    undo = {"slots": re.search(r'name="slots" value="([^"]+)"', page)[1]}
    move(day.date, "20:00")  # the same day, later
    page = staff_client.post(f"/test-days/{day.pk}/put-back/", undo, follow=True).content.decode()
    assert "The list has changed meanwhile." in page
    models.TestDay.objects.update(date=today() - timedelta(days=1))
    page = staff_client.post(f"/test-days/{day.pk}/take-off/{room[2].pk}/", follow=True).content.decode()
    assert "This day is over." in page
    assert day.slots.filter(athlete=room[2]).exists()


def test_a_machine_that_is_gone_by_now_is_left_out(coming, room, staff_client):
    day, _ = coming
    page = staff_client.post(f"/test-days/{day.pk}/take-off/{room[0].pk}/", follow=True).content.decode()
    undo = {"slots": re.search(r'name="slots" value="([^"]+)"', page)[1]}
    Machine.objects.all().delete()
    staff_client.post(f"/test-days/{day.pk}/put-back/", undo)
    assert day.slots.get(athlete=room[0]).machine is None


def test_a_lane_that_another_has_by_now_is_not_taken_again(coming, room, staff_client):
    day, _ = coming
    page = staff_client.post(f"/test-days/{day.pk}/take-off/{room[0].pk}/", follow=True).content.decode()
    undo = {"slots": re.search(r'name="slots" value="([^"]+)"', page)[1]}
    other = day.slots.get(athlete=room[1])
    _, gone = signing.loads(undo["slots"], salt="tests taken off a list")
    [stood] = [one.object for one in deserialize("json", gone)]
    models.TestSlot.objects.filter(pk=other.pk).update(
        heat=stood.heat, machine=stood.machine, starts_at=stood.starts_at
    )
    staff_client.post(f"/test-days/{day.pk}/put-back/", undo)
    back = day.slots.get(athlete=room[0])
    assert (back.heat, back.machine, back.starts_at) == (0, None, None)


def test_what_is_done_next_stands_out(coming, coach_client, staff_client):
    day, _ = coming
    url = f"/test-days/{day.pk}/"
    assert "Enter results" not in coach_client.get(url).content.decode()
    assert "Enter results" not in coach_client.get("/test-days/").content.decode()
    models.TestDay.objects.update(date=today())
    assert 'class="button" href="/test-days/' in coach_client.get(url).content.decode()
    assert "Enter results" in coach_client.get("/test-days/").content.decode()
    assert "Move the day" in staff_client.get(url).content.decode()


def test_names_are_offered_where_people_look_for_them(coach_client, furnished, make_athlete):
    for name in ("Zoe Ash", "Émile Roy", "ada lowe", "Fay Orr"):
        make_athlete(name)
    names = [name for _, name in TestDayForm().fields["athletes"].choices]
    assert names == ["ada lowe", "Émile Roy", "Fay Orr", "Zoe Ash"]
    assert [name for _, name in WalkInForm().fields["athlete"].choices] == ["choose …", *names]


def test_machines_have_short_names_as_far_as_those_tell_them_apart(furnished):
    machines = list(Machine.objects.select_related("type"))
    assert sorted(short_names(machines).values()) == ["bike 1", "row 1", "row 2"]
    other = models.MachineType.objects.create(name="old rower", engine="row")
    rig = models.MachineType.objects.create(name="rig place")
    more = [Machine.objects.create(type=kind, number=1) for kind in (other, rig)]
    names = ["bike 1", "old rower 1", "rig place 1", "rowing ergometer 1", "rowing ergometer 2"]
    assert sorted(short_names(machines + more).values()) == names


def test_the_list_can_be_empty(coach_client, staff_client, gym_row):
    assert "Who to test" in coach_client.get("/test-days/").content.decode()
    assert "Plan a test day" in staff_client.get("/test-days/").content.decode()


def test_queries_do_not_grow(staff_client, coach_client, room, django_assert_num_queries):
    coach_client.post(NEW, sent(room, ["2000-m-row"]))
    pages = {"/test-days/": 6, f"/test-days/{models.TestDay.objects.get().pk}/": 28}
    for url, most in pages.items():
        with django_assert_num_queries(most):
            staff_client.get(url)
    more = gym.people(12)
    coach_client.post(NEW, sent(more, ["2000-m-row", "pull-ups-unbroken"]))
    first, second = models.TestDay.objects.order_by("pk")
    second.slots.update(test_day=first, heat=0, starts_at=None)
    for url, most in pages.items():
        with django_assert_num_queries(most):
            staff_client.get(url)


def test_a_plan_lies_on_any_day(coach_client, room):
    coach_client.post(NEW, sent(room[:1], ["2000-m-row"], date=(today() + timedelta(days=9)).isoformat()))
    assert models.TestDay.objects.get().date == today() + timedelta(days=9)
    assert isinstance(models.TestDay.objects.get().date, date)


SPARED = [
    ({"joined_on": 10}, "in the first four weeks"),
    ({"returned_on": 27}, "just back after a break"),
    ({"born": 365 * 17}, "under 18"),
    ({"leave_from": 3}, "away"),
]


@pytest.mark.parametrize(("facts", "why"), SPARED)
def test_who_must_not_go_all_out_now_is_left_out_and_told(coach_client, room, facts, why):
    [(name, days)] = facts.items()
    models.Athlete.objects.filter(pk=room[0].pk).update(**{name: today() - timedelta(days=days)})
    page = coach_client.get(NEW).content.decode()
    assert f"{room[0]} ({why})" in page
    page = coach_client.post(NEW, sent(room[:2], ["2000-m-row"]), follow=True).content.decode()
    assert [slot.athlete for slot in slots()] == [room[1]]
    assert f"Left out: {room[0]} ({why})." in page


def test_whom_a_coach_insists_on_has_to_be_in_a_test(coach_client, room):
    models.Athlete.objects.filter(pk=room[0].pk).update(joined_on=today())
    insist = {"insist": [room[0].pk], "insist_reason": "Rowed for years."}
    page = coach_client.post(NEW, sent(room[1:2], ["2000-m-row"], **insist)).content.decode()
    assert f"In no test above: {room[0]}. Tick them there, with a benchmark." in page
    assert not slots()


def test_what_is_planned_that_day_already_is_planned_once(coach_client, room):
    coach_client.post(NEW, sent(room[:2], ["2000-m-row"]))
    page = coach_client.post(NEW, sent(room[:2], ["2000-m-row"])).content.decode()
    assert "Nobody is left to test." in page
    assert f"{room[0]} in 2000 m row (planned that day already)" in page
    page = coach_client.post(NEW, sent(room[1:3], ["2000-m-row", "pull-ups-unbroken"]), follow=True).content.decode()
    assert f"Left out: {room[1]} in 2000 m row (planned that day already)." in page
    assert f"In another plan of that day too, look that the times fit: {room[1]}." in page
    assert models.TestDay.objects.count() == 2


def test_what_is_planned_that_day_already_is_told_where_a_day_is_moved_onto_it_too(coach_client, room):
    tomorrow = today() + timedelta(days=1)
    for day in (today(), tomorrow):
        coach_client.post(NEW, sent(room[:1], ["2000-m-row"], date=day.isoformat()))
    moved = models.TestDay.objects.get(date=tomorrow)
    sent_on = {"date": today().isoformat(), "starts_at": "18:00", "seen_date": tomorrow, "seen_starts_at": "18:00"}
    page = coach_client.post(f"/test-days/{moved.pk}/move/", sent_on, follow=True).content.decode()
    assert f"<li>{room[0]} in 2000 m row (planned that day already)</li>" in page
    walk_in = {"athlete": room[0].pk, "benchmarks": [Benchmark.objects.get(slug="2000-m-row").pk]}
    page = coach_client.post(f"/test-days/{moved.pk}/add/", walk_in, follow=True).content.decode()
    assert "(planned that day already)" in page


@pytest.mark.parametrize("kind", ["pregnancy", "illness"])
def test_a_limitation_that_rules_out_going_all_out_is_named_without_its_kind(coach_client, room, kind):
    Limitation.objects.create(athlete=room[0], kind=kind, starts_on=today() - timedelta(days=3))
    page = coach_client.post(NEW, sent(room[:2], ["2000-m-row"]), follow=True).content.decode()
    assert f"Left out: {room[0]} (a limitation rules out going all out)." in page
    assert kind not in page


def test_a_coach_insists_with_a_reason_and_staff_cannot(coach_client, staff_client, room):
    models.Athlete.objects.filter(pk=room[0].pk).update(joined_on=today())
    insist = {"insist": [room[0].pk]}
    page = coach_client.post(NEW, sent(room[:1], ["2000-m-row"], **insist)).content.decode()
    assert "Say in a few words why they are tested all the same." in page
    assert (
        "Nobody is left to test."
        in staff_client.post(NEW, sent(room[:1], ["2000-m-row"], **insist, insist_reason="Asked to.")).content.decode()
    )
    assert not slots()
    page = coach_client.post(
        NEW, sent(room[:1], ["2000-m-row"], **insist, insist_reason="Rowed for years."), follow=True
    ).content.decode()
    assert [slot.insisted for slot in slots()] == ["Rowed for years."]
    assert "by a coach: Rowed for years." in page


def test_whom_a_coach_released_may_be_tested(coach_client, room):
    models.Athlete.objects.filter(pk=room[0].pk).update(joined_on=today())
    facts = {"starts_on": today(), "ends_on": today(), "reason": "Rowed for years."}
    models.Override.objects.create(athlete=room[0], caution="return", **facts)
    coach_client.post(NEW, sent(room[:1], ["2000-m-row"]))
    assert len(slots()) == 1


def test_who_comes_unplanned_is_held_to_the_same(coach_client, staff_client, coming, room):
    day, _ = coming
    newcomer = gym.people(1)[0]
    models.Athlete.objects.filter(pk=newcomer.pk).update(joined_on=today())
    form = {"athlete": newcomer.pk, "benchmarks": [Benchmark.objects.get(slug="2000-m-row").pk]}
    for client, more in ((staff_client, {"insisted": "He is fit."}), (coach_client, {})):
        page = client.post(f"/test-days/{day.pk}/add/", form | more, follow=True).content.decode()
        assert "should not go all out now: in the first four weeks" in page
    coach_client.post(f"/test-days/{day.pk}/add/", form | {"insisted": "Rowed for years."})
    assert [slot.insisted for slot in slots() if slot.athlete == newcomer] == ["Rowed for years."]


def test_who_comes_unplanned_is_left_out_of_what_a_limitation_rules_out(coach_client, coming):
    day, _ = coming
    [late], row = gym.people(1), Benchmark.objects.get(slug="2000-m-row")
    squats = Benchmark.objects.filter(archived=False, movement__involvement__pull__isnull=True).first()
    Limitation.objects.create(athlete=late, kind="body", patterns=["pull"], starts_on=today())

    def add(*benchmarks, **more):
        form = {"athlete": late.pk, "benchmarks": [benchmark.pk for benchmark in benchmarks], **more}
        page = coach_client.post(f"/test-days/{day.pk}/add/", form, follow=True).content.decode()
        return page, {slot.benchmark: slot.insisted for slot in slots() if slot.athlete == late}

    left_out = f"Left out: {late} in 2000 m row (a limitation)."
    page, added = add(row)
    assert ("Nobody is left to test. " + left_out in page, added) == (True, {})
    page, added = add(row, squats)
    assert (left_out in page, added) == (True, {squats: ""})
    page, added = add(row, insisted="With one arm.")
    assert (left_out in page, added) == (False, {squats: "", row: "With one arm."})
