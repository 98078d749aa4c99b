"""An import is taken back as a whole: what came in is voided, what was filled in goes, whom it added too."""

from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError

from athletes.efforts.write import effort_record
from athletes.estimates.write import estimates_refresh
from athletes.importing.write import import_begin, import_check, import_discard, import_keep, import_take_back
from athletes.models import Athlete, Benchmark, Effort, Estimate, Import
from tests import gym

DAY = "2025-11-03"
FILE = f"Athlete;2k row;Weight (kg);Date\nAthlete 0000;7:10;99;{DAY}\nNina Nu;8:00;61;{DAY}\nIda New;8:10;;{DAY}\n"


@pytest.fixture
def bring(furnished, coach):
    gym.people(2)
    Athlete.objects.filter(name="Athlete 0000").update(body_mass_kg=None)
    estimates_refresh()

    def to(content: str) -> Import:
        source = import_begin(key=uuid4(), filename="tests.csv", content=content.encode(), by=coach)
        import_check(source=source)
        import_keep(source=source, create_athletes=True, wanted=[])
        source.refresh_from_db()
        assert source.state == "done", source.failure
        return source

    return to


def estimates() -> list[tuple]:
    return list(Estimate.objects.order_by("athlete", "engine", "movement").values_list("athlete", "engine", "mean"))


def test_everything_stands_as_before_and_the_voided_efforts_say_why(bring, coach):
    before = estimates()
    import_take_back(source=bring(FILE), by=coach)
    source = Import.objects.get()
    assert (source.state, source.taken_back_by) == ("taken_back", coach)
    assert estimates() == before
    assert set(Athlete.objects.values_list("name", "body_mass_kg")) == {("Athlete 0000", None), ("Athlete 0001", 61.0)}
    effort = Effort.objects.get(import_key=source.key)  # those of people who are removed go with them
    assert (effort.void_reason, effort.voided_by) == ("Import taken back: tests.csv.", coach)
    assert (source.counts["voided"], source.counts["removed"], source.counts["cleared"]) == (3, 2, 1)


def test_a_newcomer_stays_once_something_else_is_kept_of_them(bring, coach):
    source = bring(FILE)
    pulls = Benchmark.objects.get(slug="pull-ups-unbroken")
    nina = Athlete.objects.get(name="Nina Nu")
    effort_record(
        athlete=nina, benchmark=pulls, typed="5", performed_on=nina.created_at.date(), by=coach, confirmed=True
    )
    import_take_back(source=source, by=coach)
    assert Athlete.objects.filter(name="Nina Nu").exists()
    assert not Athlete.objects.filter(name="Ida New").exists()
    assert [effort.benchmark for effort in nina.efforts.standing()] == [pulls]


def test_a_fact_that_was_changed_since_stays(bring, coach):
    source = bring(FILE)
    Athlete.objects.filter(name="Athlete 0000").update(body_mass_kg=98)
    import_take_back(source=source, by=coach)
    assert Athlete.objects.get(name="Athlete 0000").body_mass_kg == 98


def test_taken_back_twice_is_once_and_the_same_file_comes_in_again(bring, coach):
    source = bring(FILE)
    for _ in range(2):
        import_take_back(source=source, by=coach)
    again = bring(FILE)
    assert (again.counts["kept"], again.counts.get("same", 0)) == (3, 0)
    assert Effort.objects.standing().filter(import_key=again.key).count() == 3


def test_a_file_of_which_something_is_kept_can_be_taken_back_after_it_is_forgotten(bring, coach):
    source = bring(FILE)
    import_discard(source=source)
    import_take_back(source=source, by=coach)
    assert not Effort.objects.standing().filter(import_key=source.key).exists()


def test_what_is_not_kept_yet_cannot_be_taken_back(bring, coach):
    source = import_begin(key=uuid4(), filename="tests.csv", content=FILE.encode(), by=coach)
    with pytest.raises(ValidationError, match="has gone on meanwhile"):
        import_take_back(source=source, by=coach)


def test_it_is_done_from_the_page_of_the_import_and_only_by_a_coach(bring, coach_client, staff_client):
    address = f"/athletes/import/{bring(FILE).pk}/"
    assert "Take this import back" in coach_client.get(address).content.decode()
    assert staff_client.post(f"{address}take-back/").status_code == 403
    page = coach_client.post(f"{address}take-back/", follow=True).content.decode()
    assert "Nothing of this file counts any more" in page
    assert "taken back" in coach_client.get("/athletes/import/").content.decode()
