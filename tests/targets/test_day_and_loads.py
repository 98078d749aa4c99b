"""What the day and the gym add to a circuit: heat, loads that are there, places that are shared."""

import pytest
from django.core.exceptions import ValidationError

from athletes.estimates.write import estimates_refresh
from athletes.models import Athlete, Benchmark, Effort, Movement, Rack
from sessions.boards import files
from sessions.clock.live import wall_plan
from sessions.models import PlannedSession
from sessions.publishing.write import publication_request
from tests import gym
from tests.conftest import publish

SQUAT = 3


def lift(athlete: Athlete, kg: float) -> None:
    benchmark = Benchmark.objects.get(slug="goblet-squat")
    day = gym.this_monday()
    Effort.objects.create(athlete=athlete, benchmark=benchmark, value=kg, repetitions=5, typed="x", performed_on=day)
    estimates_refresh(athletes=[athlete.pk])


@pytest.fixture
def week(furnished):
    gym.people(3)
    return gym.planned_week()


def expect_heat(week, wbgt: float, intent="hard") -> None:
    PlannedSession.objects.filter(week=week).update(wbgt_c=wbgt, intent=intent)


@pytest.mark.parametrize(
    ("wbgt", "planned", "published"), [(27.7, "hard", "hard"), (27.8, "hard", "steady"), (30.5, "hard", "easy")]
)
def test_heat_lowers_the_intent_and_the_board_says_so(week, coach, wbgt, planned, published):
    expect_heat(week, wbgt, planned)
    session = publish(week, coach).sessions.get()
    assert session.intent == published
    assert bool(session.caution) == (published != planned)
    assert f"instead of {planned}" in session.caution or published == planned


def test_too_hot_a_day_is_not_published_and_says_what_to_do(week, coach):
    expect_heat(week, 33)
    with pytest.raises(ValidationError, match="nobody trains here. Move that session"):
        publication_request(week=week, by=coach)


def test_heat_shows_on_wall_and_phone(week, coach):
    expect_heat(week, 29)
    publication = publish(week, coach)
    assert wall_plan(publication.sessions.get(), "")["hot"]
    assert "29 °C wet-bulb globe" in files.read(publication.pages.first().path).decode()


def test_a_load_comes_down_to_what_the_gym_owns_and_never_up(week, coach):
    rack = Rack.objects.create(name="kettlebells", loads=[8, 12, 16, 20])
    Movement.objects.filter(slug="goblet-squat").update(rack=rack)
    strong, weak, tiny = Athlete.objects.order_by("pk")
    lift(strong, 100)
    lift(weak, 22)
    lift(tiny, 6)
    rows = {row.athlete: row for row in publish(week, coach).targets.filter(station=SQUAT).select_related("athlete")}
    assert rows[strong].load_kg == 20  # 24 kg are written, which the gym does not own
    assert rows[weak].load_kg == 12  # ten in the last of five rounds, with two left: 16 are a ten-repetition maximum
    assert rows[weak].dose > 0
    assert rows[tiny].rung == -1  # even the lightest is too heavy, and the station has no swap


def test_without_a_list_loads_go_in_steps(week, coach):
    athlete = Athlete.objects.first()
    lift(athlete, 22)
    row = publish(week, coach).targets.get(station=SQUAT, athlete=athlete)
    assert row.load_kg < 24
    assert row.load_kg % 2.5 == 0


def test_two_who_share_a_place_rest_longer_and_take_twice_as_long(furnished, coach, coach_client):
    gym.people(4)
    alone, shared = gym.circuit(), gym.circuit({**gym.DOCUMENT, "name": "In pairs", "partners": 2})
    publication = publish(gym.planned_week(None, alone, shared), coach)
    one, two = publication.sessions.order_by("date")
    assert two.definition.duration_s == 2 * one.definition.duration_s
    doses = [dict(s.targets.values_list("athlete_id", "dose").filter(station=1)) for s in (one, two)]
    assert all(doses[1][athlete] >= dose for athlete, dose in doses[0].items())
    left = [sum(s.targets.filter(station=1).values_list("headroom", flat=True)) for s in (one, two)]
    assert left[1] > left[0]
    assert "in pairs, in turns" in coach_client.get(f"/circuits/{shared.pk}/").content.decode()
