"""The list of usual tests: it fits the gym's movements, and adding is safe to repeat."""

import pytest

from athletes.benchmarks.library import ENTRIES, references_of
from athletes.benchmarks.write import benchmarks_add, offers
from athletes.models import Benchmark, Movement
from coachhub.demo.movements import MOVEMENTS


def movement(name: str, kind: str = "repetitions", engine: str = "", paced: bool = False) -> Movement:
    slug = name.lower().replace(" ", "-")
    return Movement.objects.create(name=name, slug=slug, kind=kind, engine=engine, paced=paced)


def names(of: Movement) -> list[str]:
    return [offer.name for offer in offers() if offer.movement == of]


@pytest.mark.django_db
def test_every_offer_is_a_benchmark_that_the_form_would_take():
    for entry in MOVEMENTS:
        movement(entry.name, entry.kind, entry.engine, entry.paced)
    found = offers()
    assert len(found) > 60
    for offer in found:
        fixed = {"measure": offer.entry.measure, "fixed": offer.entry.fixed}
        Benchmark(name=offer.name, slug="x", movement=offer.movement, **fixed).full_clean()


@pytest.mark.django_db
def test_each_engine_gets_what_its_doses_allow():
    row, bike, run = (movement(e.title(), "engine", e) for e in ("row", "bike", "run"))
    assert {"Row 500 m", "Row 1-minute calories", "Row 30-minute distance", "Row 50 kcal"} <= set(names(row))
    assert len(names(bike)) == 6  # calories only
    assert all("calories" in name or "kcal" in name for name in names(bike))
    assert names(run) == ["Run 400 m", "Run 800 m", "Run 1 mile", "Run 5 km"]


@pytest.mark.django_db
def test_a_movement_is_met_by_the_most_particular_words():
    bench = movement("Hip-extension sit-up")
    lift, odd = movement("Thruster", "loaded"), movement("Something else")
    assert names(bench) == ["Hip-extension sit-up, most unbroken"]
    assert [offer.entry.key for offer in offers() if offer.movement == bench] == ["unbroken-hip-extension-sit-up"]
    assert names(lift) == ["Thruster, rep-max"]
    assert names(odd) == []


@pytest.mark.django_db
def test_what_is_paced_is_tested_in_a_time_and_for_time_too():
    burpee, plain = movement("Burpee", paced=True), movement("Burpee over the bar")
    assert names(burpee) == [
        "Burpee, most unbroken", "Burpee, most in 1:00", "Burpee, most in 7:00", "Burpee, 50 for time",
    ]  # fmt: skip
    assert names(plain) == ["Burpee over the bar, most unbroken"]


def test_adding_twice_adds_once(coach_client, row_2000):
    keys = [offer.key for offer in offers()]
    there = [offer.there for offer in offers() if offer.there]
    assert there == [row_2000]
    page = coach_client.post("/benchmarks/library/", {"add": keys}, follow=True).content.decode()
    assert "Added: Row 500 m" in page
    count = Benchmark.objects.count()
    assert count == len(keys)
    page = coach_client.post("/benchmarks/library/", {"add": keys}, follow=True).content.decode()
    assert "Nothing was added" in page
    assert Benchmark.objects.count() == count


def test_the_same_mile_is_not_added_twice_and_an_archived_test_is_still_there(coach_client, row_2000):
    run = movement("Run", "engine", "run")
    mile = {"movement": run, "measure": "time_for_distance"}
    kept = Benchmark.objects.create(name="Mile", slug="mile", fixed=1609, archived=True, **mile)
    assert [offer.there for offer in offers() if offer.entry.title == "1 mile"] == [kept]
    assert "take it up again" in coach_client.get("/benchmarks/library/").content.decode()


def test_a_name_that_is_taken_is_numbered(row_movement, row_2000):
    Benchmark.objects.filter(pk=row_2000.pk).update(name="Row 500 m", slug="row-500-m")
    key = next(offer.key for offer in offers() if offer.entry.key == "row-500-m")
    assert benchmarks_add([key, "unknown:7"]) == ["Row 500 m 2"]
    assert Benchmark.objects.get(fixed=500).slug == "row-500-m-2"


def test_queries_do_not_grow(row_movement, django_assert_num_queries):
    for n in range(20):
        movement(f"Pull-up of kind {n}")
    with django_assert_num_queries(2):
        assert len(offers()) > 30


def test_staff_may_not_add(staff_client, row_movement):
    assert staff_client.get("/benchmarks/library/").status_code == 403
    assert "Add from the list" not in staff_client.get("/benchmarks/").content.decode()


def test_an_empty_gym_is_told_what_to_do(coach_client, gym_row):
    assert "Add movements first" in coach_client.get("/benchmarks/library/").content.decode()


def test_keys_are_unique_and_every_reference_names_its_source():
    assert len({entry.key for entry in ENTRIES}) == len(ENTRIES)
    shown = [reference for entry in ENTRIES for reference in entry.references]
    assert shown
    assert all(reference.source and reference.low < reference.high for reference in shown)


def test_references_stand_only_beside_the_test_they_are_of():
    assert len(references_of("row", "time_for_distance", 2000)) == 2
    assert references_of("ski", "time_for_distance", 2000) == ()
    assert references_of("row", "distance_in_time", 2000) == ()
    assert references_of("", "repetitions", None) == ()
