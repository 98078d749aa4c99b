from datetime import timedelta
from importlib import import_module
from uuid import uuid4

import numpy as np
import pytest
from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from athletes.efforts.questions import meant
from athletes.efforts.write import EffortQuestioned, effort_record, effort_void
from athletes.estimates.observations import reduced
from athletes.estimates.read import benchmark_lines
from athletes.estimates.write import estimates_refresh
from athletes.gym.read import today
from athletes.models import Benchmark, Effort, Estimate
from tests import gym


@pytest.fixture
def athlete(furnished):
    return gym.people(1, tested=False)[0]


@pytest.fixture
def record(athlete, staff):
    def record(typed, benchmark="2000-m-row", **options):
        benchmark = Benchmark.objects.get(slug=benchmark)
        options = {"performed_on": today(), "by": staff, **options}
        return effort_record(athlete=athlete, benchmark=benchmark, typed=typed, **options)

    return record


def test_an_effort_keeps_value_words_day_and_person(record, staff):
    effort = record("7:42.3")
    assert (effort.value, effort.fixed, effort.typed, effort.entered_by) == (462.3, 2000, "7:42.3", staff)


def test_an_effort_sharpens_the_estimate(record, athlete):
    record("8:05")
    first = Estimate.objects.get(athlete=athlete, engine="row")
    record("18", "1-min-row-calories")
    second = Estimate.objects.get(athlete=athlete, engine="row")
    assert second.covariance[1][1] < first.covariance[1][1]
    assert len(second.efforts) == 2


def test_the_same_key_twice_keeps_one(record):
    key = uuid4()
    assert record("7:42.3", key=key) == record("7:42.3", key=key)
    assert Effort.objects.count() == 1


def test_a_key_is_not_taken_over_by_another_benchmark(record):
    key = uuid4()
    record("7:42.3", key=key)
    with pytest.raises(ValidationError, match="sent before"):
        record("9", "pull-ups-unbroken", key=key)


@pytest.mark.parametrize(("typed", "day"), [("7:40.0", today), ("7:42.3", lambda: today() - timedelta(days=1))])
def test_another_result_or_day_under_the_same_key_is_refused_in_words(record, typed, day):
    key = uuid4()
    record("7:42.3", key=key)
    with pytest.raises(ValidationError, match="sent before.*7:42.3.*Reload the page"):
        record(typed, key=key, performed_on=day())
    assert Effort.objects.get().typed == "7:42.3"


def test_more_repetitions_under_the_same_load_are_not_the_same_result(record):
    record("50x5", "goblet-squat")
    assert record("50x6", "goblet-squat").repetitions == 6


def test_a_long_set_says_little_of_a_maximum(record):
    record("50x10", "goblet-squat")
    with pytest.raises(EffortQuestioned, match="More than 10 repetitions say little"):
        record("48x12", "goblet-squat")


def test_of_equal_loads_the_more_repetitions_are_the_best_and_a_single_is_its_own_maximum(record, athlete):
    for typed in ("60x1", "58x2"):  # 58 · (1 + 2/30) = 61.9
        record(typed, "goblet-squat", confirmed=True)
    [line] = benchmark_lines(athlete)
    assert line.best.typed == "58 kg x 2"


def test_an_effort_is_corrected_once(record):
    wrong = record("9:05", confirmed=True)
    record("8:05", replaces=wrong, confirmed=True)
    with pytest.raises(ValidationError, match="corrected before, to “8:05”"):
        record("8:10", replaces=wrong, confirmed=True)


def test_a_voided_effort_is_not_corrected(record):
    wrong = record("8:05")
    effort_void(effort=wrong, reason="wrong athlete", by=None)
    with pytest.raises(ValidationError, match="voided already"):
        record("8:10", replaces=wrong)


def test_a_test_that_does_not_say_what_is_fixed_makes_no_power(furnished):
    benchmark = Benchmark.objects.get(slug="2000-m-row")
    benchmark.fixed = None
    with pytest.raises(ValueError, match="does not say what is fixed"):
        reduced(benchmark, 480)


@pytest.mark.parametrize("typed", ["3:20", "25:00", "0:00.4"])
def test_a_slip_is_questioned_before_it_is_kept(record, typed):
    with pytest.raises(EffortQuestioned):
        record(typed)
    assert not Effort.objects.exists()


def test_what_is_confirmed_is_kept_with_its_question(record):
    effort = record("3:20", confirmed=True)
    assert effort.value == 200
    assert effort.question


def row_of(athlete) -> Estimate:
    return Estimate.objects.get(athlete=athlete, engine="row")


def most_pull_ups(athlete) -> float:
    return float(np.exp(Estimate.objects.get(athlete=athlete, movement__slug="pull-up").mean[0]))


def test_none_at_all_is_a_result_and_lies_below_one(record, athlete):
    estimates_refresh(athletes=[athlete.pk])
    guess = most_pull_ups(athlete)
    effort = record("0", "pull-ups-unbroken", confirmed=True)
    assert (effort.value, effort.typed) == (0, "0")
    assert most_pull_ups(athlete) < 1.3 < guess
    record("3", "pull-ups-unbroken", confirmed=True)  # and then there is one
    assert 1.5 < most_pull_ups(athlete) < 4


def test_no_number_rests_on_what_nobody_can_do(record, athlete):
    estimates_refresh(athletes=[athlete.pk])
    guess = row_of(athlete).mean
    record("2:50", confirmed=True)  # 2,856 W over 2000 m
    assert row_of(athlete).mean == pytest.approx(guess)
    assert row_of(athlete).efforts == []
    record("8:05", confirmed=True)
    assert len(Estimate.objects.get(athlete=athlete, engine="row").efforts) == 1


def test_what_was_expected_of_a_lift_is_said_for_the_same_repetitions(record):
    record("100x5", "goblet-squat", confirmed=True)
    with pytest.raises(EffortQuestioned, match=r"kg × 3 was expected"):
        record("40x3", "goblet-squat")


@pytest.mark.parametrize(
    ("unit", "typed", "kilograms", "kept"),
    [
        ("kg", "70", 70, "70 kg x 1"),
        ("kg", "72,5X3", 72.5, "72,5 kg x 3"),
        ("lb", "155x3", 70.31, "155 lb x 3"),
        ("lb", "155", 70.31, "155 lb x 1"),
        ("lb", "70 kg x 3", 70, "70 kg x 3"),
        ("kg", "155 lb", 70.31, "155 lb"),
    ],
)
def test_a_plain_load_is_kept_with_the_athletes_own_unit_and_lifted_once(record, athlete, unit, typed, kilograms, kept):
    athlete.load_unit, key = unit, uuid4()
    athlete.save()
    effort = record(typed, "goblet-squat", confirmed=True, key=key)
    assert (effort.value, effort.typed) == (pytest.approx(kilograms, abs=0.01), kept)
    assert record(typed, "goblet-squat", key=key) == effort  # sent again
    athlete.load_unit = "lb" if unit == "kg" else "kg"
    athlete.save()
    again = record(effort.typed, "goblet-squat", confirmed=True, performed_on=today() - timedelta(days=1))
    assert again.value == pytest.approx(effort.value)


def test_the_same_result_on_the_same_day_is_questioned(record):
    record("8:05")
    with pytest.raises(EffortQuestioned, match="already kept"):
        record("8:05")


def test_a_surprise_is_judged_by_the_athletes_own_results(record):
    record("8:00")
    record("8:02", performed_on=today() - timedelta(days=1))
    with pytest.raises(EffortQuestioned, match="expected"):
        record("6:20")


@pytest.mark.parametrize(
    ("typed", "benchmark"), [("fast", "2000-m-row"), ("4", "1-min-row-calories"), ("0", "1-min-row-calories")]
)
def test_what_is_not_understood_is_said_on_the_field(record, typed, benchmark):
    with pytest.raises(ValidationError) as error:
        record(typed, benchmark)
    assert "typed" in error.value.message_dict


def test_a_day_to_come_is_refused(record):
    with pytest.raises(ValidationError, match="not come yet"):
        record("8:05", performed_on=today() + timedelta(days=1))


def test_voiding_takes_an_effort_out_of_the_estimate_but_keeps_the_row(record, athlete, staff):
    effort = record("8:05")
    assert row_of(athlete).efforts == [effort.pk]
    effort_void(effort=effort, reason="wrong athlete", by=staff)
    assert row_of(athlete).efforts == []
    effort.refresh_from_db()
    assert (effort.void_reason, effort.voided_by) == ("wrong athlete", staff)


def test_voiding_twice_keeps_the_first_reason(record, staff):
    effort = record("8:05")
    effort_void(effort=effort, reason="first", by=staff)
    effort_void(effort=effort, reason="second", by=staff)
    assert Effort.objects.get().void_reason == "first"


def test_voiding_needs_a_reason(record, staff):
    effort = record("8:05")
    with pytest.raises(ValidationError, match="why"):
        effort_void(effort=effort, reason="  ", by=staff)
    with pytest.raises(IntegrityError), transaction.atomic():
        Effort.objects.update(voided_at="2026-01-01T00:00Z", void_reason="")


def test_a_replacement_voids_what_it_replaces(record):
    wrong = record("9:05")
    right = record("8:05", replaces=wrong)
    wrong.refresh_from_db()
    assert wrong.voided_at is not None
    assert list(Effort.objects.standing()) == [right]
    assert wrong.replaced_by == right


def test_estimates_can_be_made_again_from_efforts_alone(record, athlete):
    record("8:05")
    record("9", "pull-ups-unbroken")
    record("50x5", "goblet-squat")
    before = {(e.engine, e.movement_id): (e.mean, e.covariance) for e in Estimate.objects.all()}
    Estimate.objects.all().delete()
    estimates_refresh()
    after = {(e.engine, e.movement_id): (e.mean, e.covariance) for e in Estimate.objects.all()}
    assert before == after
    # All four engines, the pull-up and the ring row near it, and the squat
    assert len(after) == 7


def test_an_estimate_blurs_with_time(record, athlete):
    record("8:05")
    fresh = Estimate.objects.get(athlete=athlete, engine="row").covariance[0][0]
    estimates_refresh(as_of=today() + timedelta(days=730))
    assert Estimate.objects.get(athlete=athlete, engine="row").covariance[0][0] > 2 * fresh


def test_the_number_of_queries_does_not_grow_with_the_athletes(furnished, django_assert_max_num_queries):
    gym.people(3)
    with django_assert_max_num_queries(22):
        estimates_refresh()
    gym.people(40)
    with django_assert_max_num_queries(23):  # SQLite takes 999 values at once: one more insert
        estimates_refresh()


def test_what_was_typed_plain_before_says_kilograms_now(athlete):
    lift, row = (Benchmark.objects.get(slug=slug) for slug in ("goblet-squat", "2000-m-row"))
    facts = {"athlete": athlete, "performed_on": today()}
    plain = Effort.objects.create(benchmark=lift, value=72.5, repetitions=3, typed="72,5 X 3", **facts)
    said = Effort.objects.create(benchmark=lift, value=45.4, repetitions=1, typed="100 lb", **facts)
    timed = Effort.objects.create(benchmark=row, value=462, fixed=2000, typed="462", **facts)
    import_module("athletes.migrations.0026_plain_loads_say_kilograms").say_kilograms(apps, None)
    assert [Effort.objects.get(pk=one.pk).typed for one in (plain, said, timed)] == ["72,5 kg x 3", "100 lb", "462"]


@pytest.mark.parametrize(("value", "said"), [(7.42, "7:42"), (1.57, "1:57"), (440.4, ""), (1260.5, ""), (7.0, "")])
def test_only_minutes_with_a_point_are_asked_about_as_a_time(furnished, value, said):
    assert meant(Benchmark.objects.get(slug="2000-m-row"), value, None) == said
