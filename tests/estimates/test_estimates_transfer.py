"""Estimates of machines and movements that an athlete was not tested on, and what the pages make of them."""

from types import SimpleNamespace

import pytest

from athletes.capacity.firmness import firmness
from athletes.capacity.power_duration import log_power_sd
from athletes.efforts.write import effort_void
from athletes.estimates.people import load_people
from athletes.estimates.read import numbers_of
from athletes.estimates.write import estimates_refresh
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Estimate, Movement
from athletes.people.curves import curve_of
from tests import gym


@pytest.fixture
def athlete(furnished) -> Athlete:
    return gym.people(1, tested=False)[0]


@pytest.fixture
def row(athlete, record):
    return record(athlete, Benchmark.objects.get(slug="2000-m-row"), "7:30")


@pytest.fixture
def pull_ups(athlete, record):
    return record(athlete, Benchmark.objects.get(slug="pull-ups-unbroken"), "14")


def minute_sd(people, engine):
    return float(log_power_sd(60.0, people.engine_mean[engine][0], people.engine_cov[engine][0]))


def test_one_row_gives_an_estimate_of_every_engine(athlete, row):
    estimates = {e.engine: e for e in Estimate.objects.filter(athlete=athlete).exclude(engine="")}
    assert set(estimates) == {"row", "ski", "bike", "run"}
    assert {engine: estimate.efforts for engine, estimate in estimates.items()} == {
        "row": [row.pk], "ski": [row.pk], "bike": [row.pk], "run": [],
    }  # fmt: skip


def test_an_untested_engine_is_surer_than_a_first_guess_and_less_sure_than_a_tested_one(athlete, row):
    [stranger] = gym.people(1, tested=False)
    Athlete.objects.filter(pk=stranger.pk).update(sex=athlete.sex, body_mass_kg=athlete.body_mass_kg)
    known, unknown = load_people([athlete.pk]), load_people([stranger.pk])
    assert minute_sd(known, "row") < minute_sd(known, "ski") < minute_sd(unknown, "ski")
    assert firmness(minute_sd(known, "ski")) == "rough"


def test_own_efforts_are_what_a_tested_engine_rests_on(athlete, row, record):
    run = record(athlete, Benchmark.objects.get(slug="1500-m-run"), "6:10")
    efforts = dict(Estimate.objects.filter(athlete=athlete).values_list("engine", "efforts"))
    assert (efforts["row"], efforts["run"]) == ([row.pk], [run.pk])
    assert efforts["ski"] == efforts["bike"] == [row.pk]  # nearer than the run


def test_a_pull_up_informs_the_ring_row_below_it_and_hardly_the_squat(athlete, record):
    ring_row, squat = (Movement.objects.get(slug=slug) for slug in ("ring-row", "goblet-squat"))
    Movement.objects.filter(slug="pull-up").update(easier_form=ring_row)
    estimates_refresh()
    before = {e.movement_id: e for e in Estimate.objects.filter(athlete=athlete, engine="")}
    effort = record(athlete, Benchmark.objects.get(slug="pull-ups-unbroken"), "24")
    after = {e.movement_id: e for e in Estimate.objects.filter(athlete=athlete, engine="")}
    assert after[ring_row.pk].efforts == [effort.pk]
    assert after[squat.pk].efforts == []
    moved = {pk: after[pk].mean[0] - before[pk].mean[0] for pk in after}
    assert moved[effort.benchmark.movement_id] > moved[ring_row.pk] > 3 * moved[squat.pk] > 0
    assert after[ring_row.pk].covariance[0][0] < 0.6 * before[ring_row.pk].covariance[0][0]
    assert after[ring_row.pk].mean[0] > after[effort.benchmark.movement_id].mean[0]  # the easier form is easier


def test_a_movement_out_of_use_still_tells_of_others(athlete, pull_ups):
    Movement.objects.filter(slug="pull-up").update(archived=True)
    before = Estimate.objects.get(athlete=athlete, movement__slug="ring-row").mean
    estimates_refresh()
    assert Estimate.objects.get(athlete=athlete, movement__slug="ring-row").mean == pytest.approx(before)


def test_people_know_what_was_tested_itself(athlete, row, pull_ups):
    people, ids = load_people([athlete.pk]), dict(Movement.objects.values_list("slug", "pk"))
    assert people.tested(0, "row", ids["row"])
    assert people.tested(0, "", ids["pull-up"])
    assert not people.tested(0, "ski", 0)
    assert not people.tested(0, "", ids["ring-row"])
    assert people.benchmarks(people.efforts["ski"][0]) == ["2000 m row"]


def test_a_benchmark_added_while_people_are_read_counts_from_the_next_time(athlete, row, pull_ups, monkeypatch):
    earlier = SimpleNamespace(objects=Benchmark.objects.exclude(pk=row.benchmark_id))
    monkeypatch.setattr("athletes.estimates.people.Benchmark", earlier)
    assert load_people([athlete.pk]).own == {0: {pull_ups.benchmark.movement_id}}


def test_the_pages_show_what_was_tested(athlete, row, pull_ups):
    numbers = numbers_of(athlete)
    assert [line.subject for line in numbers["estimates"]] == ["rowing ergometer", "Pull up"]
    assert [line.efforts for line in numbers["estimates"]] == [1, 1]
    assert curve_of(athlete, "row", today()) is not None
    assert curve_of(athlete, "bike", today()) is None


def test_a_voided_effort_takes_what_it_said_of_other_machines_with_it(athlete, row, staff):
    known = Estimate.objects.get(athlete=athlete, engine="ski").covariance[0][0]
    effort_void(effort=row, reason="wrong athlete", by=staff)
    assert not any(estimate.efforts for estimate in Estimate.objects.filter(athlete=athlete))
    assert Estimate.objects.get(athlete=athlete, engine="ski").covariance[0][0] > 1.5 * known
