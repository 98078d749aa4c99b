"""The first screen of a progress page: the questions of a coach, answered."""

from datetime import timedelta
from uuid import uuid4

import pytest

from athletes.efforts.write import effort_record
from athletes.estimates.people import people_of
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark
from sessions.models import Attendance
from sessions.progress.benchmarks import predicted
from sessions.progress.glance import answers, year
from sessions.progress.gym_read import fallen_silent, heavy_in_a_row
from sessions.progress.read import Done, histories
from sessions.progress.report import goals
from tests import gym
from tests.conftest import publish


@pytest.fixture
def athlete(furnished) -> Athlete:
    return gym.people(1)[0]


def done(*shares: float) -> list[Done]:
    return [Done(today() - timedelta(days=2 * n), "Mill race", 6.0, 25.0, share) for n, share in enumerate(shares)]


def said(athlete: Athlete, logged: list[Done]) -> list[tuple[str, str]]:
    then = today() - timedelta(days=365)
    found = histories(athlete)
    predictions = predicted(people_of([athlete]), [history.benchmark for history in found])
    given = answers(found, {}, logged, *goals(athlete, found, predictions, today()), then, today())
    return [(one.answer, " ".join(one.why)) for one in given]


@pytest.mark.parametrize(
    ("shares", "answer"),
    [((1.0, 0.96), "Yes"), ((0.9, 0.85), "Mostly"), ((0.5,), "Less than asked"), ((), "Not known")],
)
def test_what_was_asked_and_done_is_answered_in_a_word(athlete, shares, answer):
    assert said(athlete, done(*shares))[1][0] == answer


def test_a_personal_best_says_fitter_and_a_contradicted_one_does_not(athlete):
    row = Benchmark.objects.get(slug="2000-m-row")
    facts = {"athlete": athlete, "benchmark": row, "performed_on": today(), "by": None, "confirmed": True}
    wrong = effort_record(typed="5:30", key=uuid4(), **facts)
    athlete.refresh_from_db()
    assert athlete.too_good == [wrong.pk]
    assert said(athlete, [])[0][0] == "Not known"
    effort_record(typed="6:57", key=uuid4(), replaces=wrong, **facts)
    athlete.refresh_from_db()
    record(athlete, "7:20", days_ago=400)
    assert said(athlete, [])[0] == ("Yes", "1 benchmark was tested before and since; 1 personal best since.")


def record(athlete: Athlete, typed: str, days_ago: int) -> None:
    facts = {"athlete": athlete, "benchmark": Benchmark.objects.get(slug="2000-m-row"), "by": None, "confirmed": True}
    effort_record(typed=typed, performed_on=today() - timedelta(days=days_ago), **facts)


def test_bests_in_what_was_not_tested_then_make_nobody_fitter(furnished):
    [athlete] = gym.people(1, tested=False)
    facts = {"athlete": athlete, "by": None, "confirmed": True}
    pulls, squats = (Benchmark.objects.get(slug=slug) for slug in ("pull-ups-unbroken", "goblet-squat"))
    for benchmark, typed, ago in ((pulls, "12", 400), (pulls, "8", 10), (squats, "30x5", 20), (squats, "32x5", 5)):
        effort_record(benchmark=benchmark, typed=typed, performed_on=today() - timedelta(days=ago), **facts)
    assert said(athlete, [])[0][0] == "About the same"


def test_without_a_test_since_nobody_is_known_to_be_fitter(furnished):
    [athlete] = gym.people(1, tested=False)
    assert said(athlete, [])[0] == ("Not known", "Never tested.")
    record(athlete, "7:20", days_ago=500)
    record(athlete, "7:10", days_ago=400)
    assert said(athlete, [])[0] == ("Not known", "Not tested since.")


def test_the_year_has_every_day_once_and_says_what_was_on_it(athlete):
    halves = year(done(1.0), histories(athlete), today())
    days = [one for half in halves for one in half.days]
    assert len({(half, one.column, one.row) for half in (0, 1) for one in halves[half].days}) == len(days) >= 365
    assert len({name for half in halves for _, name in half.months}) == 12
    assert (days[-1].level, days[-1].words.endswith("load 150")) == (2, True)
    tested = [one for one in days if one.tested]
    assert len(tested) == 1
    assert "tested" in tested[0].words


def test_who_came_and_was_not_heard_of_for_two_weeks_is_named(athlete, coach_client):
    Attendance.objects.create(athlete=athlete, session_key=uuid4(), date=today() - timedelta(days=20))
    assert fallen_silent(today()) == [(athlete, today() - timedelta(days=20))]
    assert "Fallen silent" in coach_client.get("/progress/").content.decode()
    Attendance.objects.create(athlete=athlete, session_key=uuid4(), date=today() - timedelta(days=3))
    assert fallen_silent(today()) == []


def test_two_heavy_days_in_a_row_are_pointed_out(athlete, coach, coach_client):
    squats = {**gym.SQUATS, "rotations": 10}
    monday = gym.this_monday() + timedelta(days=7)
    publish(gym.planned_week(monday, gym.circuit(squats), gym.circuit({**squats, "name": "Again"})), coach)
    assert heavy_in_a_row(today()) == [(monday, "squat")]
    assert "Two heavy days in a row" in coach_client.get("/progress/").content.decode()


def test_the_page_answers_on_its_first_screen(athlete, coach_client):
    page = coach_client.get(f"/athletes/{athlete.pk}/progress/").content.decode()
    for question in ("Fitter than on", "Doing what is asked?", "What next?"):
        assert question in page
    assert page.index("What next?") < page.index("Compare with")
    assert "The year in one picture" in page
