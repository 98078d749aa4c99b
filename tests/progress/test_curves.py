"""The power–duration curve of an athlete's page."""

from datetime import timedelta

import pytest
from django.urls import reverse

from athletes.efforts.write import effort_record
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Effort
from athletes.people.curves import curve_of
from tests import gym


@pytest.fixture
def rower(furnished) -> Athlete:
    return gym.people(1)[0]


def address(athlete: Athlete, engine: str = "row") -> str:
    return reverse("sessions:curve", args=[athlete.pk, engine])


def test_it_passes_by_the_effort_it_rests_on(rower):
    curve = curve_of(rower, "row", today())
    [effort] = curve.efforts
    best, low, high = curve.at(effort.duration_s)
    assert low < effort.power < high
    assert best == pytest.approx(effort.power, rel=0.05)


def test_its_range_widens_away_from_the_efforts(rower):
    curve = curve_of(rower, "row", today())
    spread = [high / low for _, low, high in (curve.at(seconds) for seconds in (420, 10))]
    assert spread[1] > spread[0]


def test_only_efforts_of_the_engine_that_stand_are_points(rower):
    run = Benchmark.objects.get(slug="1500-m-run")
    old = today() - timedelta(days=400)
    effort_record(athlete=rower, benchmark=run, typed="6:00", performed_on=old, by=None, confirmed=True)
    [effort] = curve_of(rower, "run", today()).efforts
    assert (effort.benchmark, effort.fresh) == ("1500 m run", False)
    Effort.objects.filter(benchmark__slug="2000-m-row").update(voided_at="2026-01-01T00:00Z", void_reason="slip")
    assert curve_of(rower, "row", today()).efforts == []


def test_a_coach_gets_the_figure_and_its_values_in_words(coach_client, rower, django_assert_max_num_queries):
    with django_assert_max_num_queries(10):
        found = coach_client.get(address(rower)).json()
    assert {trace["meta"] for trace in found["figure"]["data"]} == {"low", "high", "curve", "fresh"}
    assert [row[0] for row in found["values"]] == ["0:10", "0:30", "1:00", "2:00", "5:00", "10:00", "20:00", "30:00"]
    assert found["efforts"][0][0] == "2000 m row"
    assert found["efforts"][0][2] == "7:00.0"


def test_without_an_estimate_it_says_so(coach_client, rower):
    for engine in ("ski", "no-such-engine", "\0"):
        answer = coach_client.get(address(rower, engine))
        assert answer.status_code == 404
        assert "no estimate here yet" in answer.json()["message"]


def test_it_is_for_coaches(staff_client, rower):
    assert staff_client.get(address(rower)).status_code == 403


def test_the_page_offers_a_curve_for_each_engine_and_says_when_there_is_none(coach_client, rower, make_athlete):
    page = coach_client.get(f"/athletes/{rower.pk}/").content.decode()
    assert page.count("data-curve=") == 1
    assert address(rower) in page
    assert "No curve yet" in coach_client.get(f"/athletes/{make_athlete('New').pk}/").content.decode()
