"""The entry grid: each cell once, judged at once, and never over somebody else's entry."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from athletes import models
from athletes.gym.read import today
from athletes.models import Benchmark, Effort
from athletes.trials import grid
from sessions.progress.read import histories
from tests import gym
from tests.conftest import client_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def day(furnished, make_athlete):
    """A test day of two athletes with known results in 2000 m and pull-ups, and one without any."""
    people = [*gym.people(2), make_athlete("Łucja Őrsi")]
    benchmarks = Benchmark.objects.filter(slug__in=["2000-m-row", "pull-ups-unbroken"])
    day = models.TestDay.objects.create(date=today(), starts_at="18:00")
    models.TestSlot.objects.bulk_create(
        models.TestSlot(test_day=day, athlete=athlete, benchmark=benchmark)
        for athlete in people
        for benchmark in benchmarks
    )
    return day


@pytest.fixture
def cell(day):
    """Write the 2000 m of the first athlete, who is expected to row about 7:00."""

    def write(client, typed, base=0, **more):
        athlete, row = day.slots.first().athlete, Benchmark.objects.get(slug="2000-m-row")
        document = {"athlete": athlete.pk, "benchmark": row.pk, "typed": typed, "base": base, "key": str(uuid4())}
        answer = client.post(f"/test-days/{day.pk}/grid/cells/", document | more, "application/json")
        return answer.json()

    return write


def of_today():
    return list(Effort.objects.standing().filter(performed_on=today()).values_list("typed", flat=True))


def test_a_result_is_saved_and_seen_by_the_next_look(staff_client, cell, day):
    answer = cell(staff_client, "7:02.5")
    assert (answer["state"], answer["entry"]["shown"], answer["entry"]["by"]) == ("saved", "7:02.5", "The staff")
    (seen,) = staff_client.get(f"/test-days/{day.pk}/grid/cells/").json()["cells"]
    assert seen["effort"] == answer["entry"]["effort"]
    page = staff_client.get(f"/test-days/{day.pk}/grid/").content.decode()
    assert 'value="7:02.5"' in page
    assert page.count('class="grid-typed"') == 6


def test_sent_again_it_is_kept_once_and_answers_alike(staff_client, cell):
    key = str(uuid4())
    first, again = (cell(staff_client, "7:02.5", key=key) for _ in range(2))
    assert first == again
    assert of_today() == ["7:02.5"]


def test_a_key_that_kept_another_result_loses_none(staff_client, cell, day):
    key, other = str(uuid4()), day.slots.exclude(athlete=day.slots.first().athlete).first()
    cell(staff_client, "7:02.5", key=key)
    answer = cell(staff_client, "7:05", key=key, athlete=other.athlete_id)
    assert (answer["state"], "was sent before" in answer["words"]) == ("changed", True)
    assert of_today() == ["7:02.5"]


def test_sent_again_after_it_was_corrected_it_undoes_nothing(staff_client, cell):
    key = str(uuid4())
    first = cell(staff_client, "7:02.5", key=key)
    cell(staff_client, "7:01.0", base=first["entry"]["effort"])
    late = cell(staff_client, "7:02.5", key=key)
    assert (late["state"], late["entry"]["typed"]) == ("saved", "7:01.0")
    assert of_today() == ["7:01.0"]


def test_a_correction_replaces_and_an_empty_cell_takes_back(staff_client, cell):
    first = cell(staff_client, "7:02.5")["entry"]["effort"]
    second = cell(staff_client, "7:01.0", base=first)["entry"]["effort"]
    assert Effort.objects.get(pk=second).replaces_id == first
    empty = cell(staff_client, "", base=second)
    assert (empty["state"], empty["entry"]["effort"]) == ("saved", 0)
    assert of_today() == []
    assert Effort.objects.get(pk=second).void_reason == "Taken back on the test day."
    assert cell(staff_client, "", base=second)["state"] == "saved"


def test_two_people_do_not_overwrite_each_other(staff_client, cell, make_account):
    cell(staff_client, "7:02.5")
    answer = cell(client_of(make_account("staff", "second")), "6:59.0")
    assert answer["state"] == "changed"
    assert answer["words"] == "The staff entered 7:02.5 meanwhile."
    assert of_today() == ["7:02.5"]
    assert cell(staff_client, "6:59.0", base=answer["entry"]["effort"])["state"] == "saved"
    assert of_today() == ["6:59.0"]


def test_the_same_result_from_two_people_needs_no_second_look(staff_client, cell):
    cell(staff_client, "7:02.5")
    assert cell(staff_client, "7:02.5")["state"] == "saved"
    assert of_today() == ["7:02.5"]


def test_none_at_all_is_a_result_in_the_grid(staff_client, cell, day):
    pulls = Benchmark.objects.get(slug="pull-ups-unbroken")
    stranger = models.Athlete.objects.get(name="Łucja Őrsi")
    answer = cell(staff_client, "0", benchmark=pulls.pk, athlete=stranger.pk)
    if answer["state"] == "questioned":
        answer = cell(staff_client, "0", benchmark=pulls.pk, athlete=stranger.pk, confirmed=True)
    assert (answer["state"], answer["entry"]["typed"]) == ("saved", "0")
    assert Effort.objects.get(athlete=stranger).value == 0
    page = staff_client.get(f"/test-days/{day.pk}/grid/").content.decode()
    assert 'value="0"' in page


def test_a_paced_test_is_typed_as_a_count_or_as_a_time(staff_client, cell, day):
    burpee = models.Movement.objects.create(name="Burpee", slug="burpee", kind="repetitions", paced=True)
    tests = {
        "1:52.4": Benchmark.objects.create(
            name="30 burpees", slug="b30", movement=burpee, measure="time_for_repetitions", fixed=30
        ),
        "62": Benchmark.objects.create(
            name="Burpees in 7:00", slug="b7", movement=burpee, measure="repetitions_in_time", fixed=420
        ),
    }
    athlete = day.slots.first().athlete
    for typed, benchmark in tests.items():
        models.TestSlot.objects.create(test_day=day, athlete=athlete, benchmark=benchmark)
        answer = cell(staff_client, typed, benchmark=benchmark.pk, athlete=athlete.pk, confirmed=True)
        assert (answer["state"], answer["entry"]["shown"].split()[0]) == ("saved", typed)
    rate, _, _ = models.Estimate.objects.get(athlete=athlete, movement=burpee).mean
    assert 5 < 2.718281828**rate < 12  # what goes on for long [rep/min], below 62 in 7:00


def test_what_was_taken_back_meanwhile_is_not_written_over(staff_client, cell):
    first = cell(staff_client, "7:02.5")["entry"]["effort"]
    cell(staff_client, "", base=first)
    answer = cell(staff_client, "7:00.0", base=first)
    assert (answer["state"], answer["words"]) == ("changed", "This was taken back meanwhile.")


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("6:10", "Faster than expected (about 7:0"),
        ("8:40", "Slower than expected (about 7:0"),
        ("0:40", "This cannot be right as it stands: about 7:0"),
        ("7.05", "Did you mean 7:05? About 7:0"),
    ],
)
def test_a_slip_is_asked_about_and_kept_only_when_told_so(staff_client, cell, typed, words):
    answer = cell(staff_client, typed)
    assert answer["state"] == "questioned"
    assert words in answer["words"]
    assert of_today() == []
    assert cell(staff_client, typed, confirmed=True)["state"] == "saved"
    assert Effort.objects.get(performed_on=today()).question


def test_what_nobody_can_do_is_kept_on_request_and_is_no_best(staff_client, cell):
    kept = cell(staff_client, "3:20", confirmed=True)
    assert (kept["state"], kept["entry"]["best"]) == ("saved", False)
    better = cell(staff_client, "6:58", base=kept["entry"]["effort"], confirmed=True)
    assert (better["state"], better["entry"]["best"]) == ("saved", True)  # than 7:00 of twenty days ago


def test_a_count_is_judged_too(staff_client, cell):
    pulls = Benchmark.objects.get(slug="pull-ups-unbroken")
    answer = cell(staff_client, "60", benchmark=pulls.pk)
    assert answer["state"] == "questioned"
    assert answer["words"].endswith("repetitions): check the count.")


def test_what_is_not_understood_is_refused_in_words(staff_client, cell, day):
    assert "“seven” is not understood" in cell(staff_client, "seven")["words"]
    assert cell(staff_client, "9" * 61)["state"] == "refused"
    assert cell(staff_client, "7:02", athlete=10**9)["words"] == "This athlete or benchmark is gone. Reload the page."
    url = f"/test-days/{day.pk}/grid/cells/"
    for body in ("nonsense", "[1]", '{"athlete": "x"}', "null"):
        assert staff_client.post(url, body, "application/json").status_code == 422
    assert of_today() == []


def test_nothing_is_entered_for_a_day_that_has_not_come(staff_client, cell, day):
    models.TestDay.objects.filter(pk=day.pk).update(date=today() + timedelta(days=1))
    for typed in ("7:02.5", "stopped"):
        answer = cell(staff_client, typed)
        assert (answer["state"], "has not come yet" in answer["words"]) == ("refused", True)
    assert not day.slots.exclude(outcome="").exists()


def test_nothing_is_entered_for_who_is_not_on_the_day(staff_client, cell, make_athlete):
    for off in ({"athlete": make_athlete().pk}, {"benchmark": Benchmark.objects.get(slug="1-min-row-calories").pk}):
        for typed in ("20", "stopped"):
            answer = cell(staff_client, typed, **off)
            assert (answer["state"], "grid has no place" in answer["words"]) == ("refused", True)
    assert of_today() == []


def test_a_day_that_is_to_come_says_so_once_and_its_cells_are_locked(staff_client, day):
    url = f"/test-days/{day.pk}/grid/"
    assert " disabled" not in staff_client.get(url).content.decode()
    models.TestDay.objects.filter(pk=day.pk).update(date=today() + timedelta(days=1))
    page = staff_client.get(url).content.decode()
    assert page.count("This day is still to come") == 1
    assert page.count('class="grid-typed" disabled') == 6
    assert "data-watch-open" not in page


def test_heats_stand_in_their_order_and_each_lane_knows_its_machine(staff_client, day):
    row = Benchmark.objects.get(slug="2000-m-row")
    slots, machines = list(day.slots.filter(benchmark=row)), models.Machine.objects.filter(type__engine="row")
    for slot, machine in zip(slots[:2], reversed(machines), strict=True):  # the last machine to the first by name
        models.TestSlot.objects.filter(pk=slot.pk).update(heat=1, starts_at=timezone.now(), machine=machine)
    page = staff_client.get(f"/test-days/{day.pk}/grid/").content.decode()
    first, second = (f'data-home="{slots[n].athlete_id}-{row.pk}"' for n in (1, 0))
    assert 0 < page.index("Heat 1") < page.index(first) < page.index(second) < page.index("When there is room")
    assert page.count("data-home=") == 6
    assert 'data-machine="row 2"' in page


def test_a_personal_best_is_marked_and_a_first_result_is_none(staff_client, cell, day):
    assert cell(staff_client, "6:58.0")["entry"]["best"]
    newcomer = models.Athlete.objects.get(name="Łucja Őrsi")
    assert not cell(staff_client, "8:30", athlete=newcomer.pk, confirmed=True)["entry"]["best"]


def test_a_result_no_better_than_before_is_no_best(staff_client, cell):
    assert not cell(staff_client, "7:04.0")["entry"]["best"]


def test_each_cell_says_what_is_expected(staff_client, day):
    page = staff_client.get(f"/test-days/{day.pk}/grid/").content.decode()
    assert 'data-expects="6:5' in page
    assert "repetitions" in page


def test_queries_do_not_grow(staff_client, day, django_assert_num_queries):
    for url, most in ((f"/test-days/{day.pk}/grid/", 33), (f"/test-days/{day.pk}/grid/cells/", 11)):
        with django_assert_num_queries(most):
            staff_client.get(url)
        row = Benchmark.objects.get(slug="2000-m-row")
        slots = [models.TestSlot(test_day=day, athlete=athlete, benchmark=row) for athlete in gym.people(20)]
        models.TestSlot.objects.bulk_create(slots)
        with django_assert_num_queries(most):
            staff_client.get(url)
        models.Athlete.objects.filter(pk__in=[slot.athlete_id for slot in slots]).delete()


def test_who_has_seen_all_is_told_nothing_again(staff_client, cell, day):
    url = f"/test-days/{day.pk}/grid/cells/"
    tag = staff_client.get(url).json()["tag"]
    assert "cells" not in staff_client.get(url, {"tag": tag}).json()
    effort = cell(staff_client, "7:02.5")["entry"]["effort"]
    told = staff_client.get(url, {"tag": tag}).json()
    assert [seen["typed"] for seen in told["cells"]] == ["7:02.5"]
    cell(staff_client, "", base=effort)
    assert staff_client.get(url, {"tag": told["tag"]}).json()["cells"] == []


def test_a_page_that_was_told_before_is_told_what_changed_since(staff_client, cell, day, monkeypatch):
    monkeypatch.setattr(grid, "SEEN_AGAIN", timedelta(0))
    url = f"/test-days/{day.pk}/grid/cells/"
    mine, others = day.slots.order_by("pk")[:2]

    def told(before):
        seen = staff_client.get(url, {name: before[name] for name in ("tag", "at") if name in before}).json()
        return seen, {(one["athlete"], one["benchmark"], one["typed"]) for one in seen.get("cells", ())}

    def typed(slot, text, base=0):
        return cell(staff_client, text, base=base, athlete=slot.athlete_id, benchmark=slot.benchmark_id)["entry"]

    def at(slot, text):
        return {(slot.athlete_id, slot.benchmark_id, text)}

    seen, cells = told({})
    assert (seen["all"], cells) == (True, set())
    effort = typed(mine, "stopped")["effort"]
    seen, cells = told(seen)
    assert (seen["all"], cells) == (False, at(mine, "stopped"))
    typed(others, "could not")
    seen, cells = told(seen)
    assert {place[:2] for place in cells} == {(others.athlete_id, others.benchmark_id)}
    typed(mine, "", base=effort)
    seen, cells = told(seen)
    assert cells == at(mine, "")  # taken back
    assert told(seen)[1] == set()
    for wrong in ("yesterday", "2026-11-29T10:00:00", "0001-01-01T00:00:00+00:00"):
        assert told({"tag": "", "at": wrong})[0]["all"]


def test_a_day_without_anybody_says_what_to_do(staff_client, gym_row):
    day = models.TestDay.objects.create(date=today(), starts_at="18:00")
    assert "Nobody is on this day" in staff_client.get(f"/test-days/{day.pk}/grid/").content.decode()


def test_the_signed_out_cannot_enter(client, day, cell):
    answer = client.post(f"/test-days/{day.pk}/grid/cells/", {}, "application/json")
    assert answer.status_code == 302


@pytest.mark.parametrize("typed", ["stopped", "DNF", "Could not do it", "x"])
def test_how_a_test_ends_without_a_number_is_a_result_of_the_day_and_no_effort(staff_client, cell, day, typed):
    answer = cell(staff_client, typed)
    assert (answer["state"], of_today()) == ("saved", [])
    assert answer["entry"]["typed"] in ("stopped", "could not do it")
    assert answer["entry"]["effort"] < 0
    assert cell(staff_client, typed) == answer  # sent again
    assert cell(staff_client, "")["state"] == "changed"
    (seen,) = staff_client.get(f"/test-days/{day.pk}/grid/cells/").json()["cells"]
    assert (seen["typed"], seen["by"]) == (answer["entry"]["typed"], "The staff")
    number = cell(staff_client, "7:02.5", base=answer["entry"]["effort"])
    assert (number["entry"]["typed"], of_today()) == ("7:02.5", ["7:02.5"])
    assert not day.slots.exclude(outcome="").exists()
    cell(staff_client, typed, base=number["entry"]["effort"])
    assert of_today() == []
    gone = cell(staff_client, "", base=-day.slots.exclude(outcome="").get().pk)
    assert (gone["state"], gone["entry"]["effort"]) == ("saved", 0)


def test_who_cannot_do_one_repetition_has_done_none(staff_client, day):
    pulls = Benchmark.objects.get(slug="pull-ups-unbroken")
    document = {"athlete": day.slots.first().athlete_id, "benchmark": pulls.pk, "typed": "could not", "base": 0}
    url = f"/test-days/{day.pk}/grid/cells/"
    answer = staff_client.post(url, {**document, "key": str(uuid4())}, "application/json").json()
    assert (answer["state"], of_today()) == ("saved", ["0"])


def test_what_waits_on_another_device_is_told(staff_client, coach_client, day):
    devices = [str(uuid4()) for _ in range(2)]
    for count in (3, 2):
        told = {"device": devices[0], "count": count}
        assert staff_client.post(f"/test-days/{day.pk}/open/", told, "application/json").status_code == 200
    cells = f"/test-days/{day.pk}/grid/cells/"
    assert coach_client.get(cells, {"device": devices[1]}).json()["elsewhere"] == [{"by": "The staff", "count": 2}]
    assert staff_client.get(cells, {"device": devices[0]}).json()["elsewhere"] == []
    staff_client.post(f"/test-days/{day.pk}/open/", {"device": devices[0], "count": 0}, "application/json")
    assert coach_client.get(cells, {"device": devices[1]}).json()["elsewhere"] == []
    bad = {"device": "x", "count": -1}
    assert staff_client.post(f"/test-days/{day.pk}/open/", bad, "application/json").status_code == 422


def test_a_result_that_the_others_contradict_is_no_personal_best(staff_client, cell, day):
    answer = cell(staff_client, "5:35")
    assert answer["state"] == "questioned"
    assert "expected (about 7:0" in answer["words"]
    assert " SD " not in answer["words"]
    kept = cell(staff_client, "5:35", confirmed=True)
    assert (kept["state"], kept["entry"]["best"]) == ("saved", False)
    athlete = day.slots.first().athlete
    athlete.refresh_from_db()
    assert athlete.too_good == [kept["entry"]["effort"]]
    [history] = [h for h in histories(athlete) if h.benchmark.slug == "2000-m-row"]
    assert [(mark.effort.typed, mark.best) for mark in history.marks] == [("7:00", True), ("5:35", False)]
