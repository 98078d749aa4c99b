"""Test day at the keyboard: a result a second after it is called, and nothing lost."""

from datetime import timedelta

import pytest

from athletes.efforts.write import effort_record
from athletes.gym.read import today
from athletes.models import Benchmark, Effort, Movement

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
KEPT = "tr.is-saved"


@pytest.fixture
def benchmark(make_athlete) -> Benchmark:
    movement = Movement.objects.create(name="Row", slug="row", kind="engine", engine="row")
    benchmark = Benchmark.objects.create(
        name="2000 m row", slug="row-2000", movement=movement, measure="time_for_distance", fixed=2000
    )
    for name in ("Ada Stone", "Ben Hill", "Łucja Őrsi"):
        effort_record(
            athlete=make_athlete(name),
            benchmark=benchmark,
            typed="8:00.0",
            performed_on=today() - timedelta(days=60),
            by=None,
            confirmed=True,
        )
    return benchmark


@pytest.fixture
def page(open_page, staff_client, benchmark):
    page = open_page(staff_client)
    page.goto(f"/benchmarks/{benchmark.pk}/test-day/")
    return page


def focused(page) -> str:
    return page.evaluate("() => document.activeElement.closest('tr')?.dataset.name.split(' ')[0] ?? ''")


def test_enter_keeps_the_row_and_goes_to_the_next(page):
    page.locator(".entry-typed").first.focus()
    page.keyboard.type("7:58.4")
    page.keyboard.press("Enter")
    assert focused(page) == "Ben"
    page.wait_for_selector(KEPT)
    assert focused(page) == "Ben"
    assert Effort.objects.latest("pk").typed == "7:58.4"


def test_a_slip_is_caught_and_kept_only_when_told_so(page):
    page.locator(".entry-typed").first.focus()
    page.keyboard.type("3:20")
    page.keyboard.press("Enter")
    page.wait_for_selector(".entry-question")
    assert not Effort.objects.filter(typed="3:20").exists()
    page.click("text=Keep 3:20")
    page.wait_for_selector(KEPT)
    assert Effort.objects.get(typed="3:20").question
    page.wait_for_function("() => document.activeElement.matches('.entry-typed')")


def test_a_name_without_its_accents_finds_the_row(page):
    page.fill("#finder", "lucja orsi")
    page.keyboard.press("Enter")
    assert focused(page) == "Łucja"
    page.keyboard.type("8:01")
    page.keyboard.press("Enter")
    page.wait_for_selector(KEPT)
    assert page.evaluate("() => document.activeElement.id") == "finder"
    assert page.locator("tr.entry-row:visible").count() == 3


def test_without_scripts_enter_keeps_all_rows(open_page, staff_client, benchmark):
    page = open_page(staff_client, java_script_enabled=False)
    page.goto(f"/benchmarks/{benchmark.pk}/test-day/")
    page.locator(".entry-typed").nth(0).fill("7:58.4")
    page.locator(".entry-typed").nth(1).fill("8:02.0")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=2 efforts are kept.")


def test_without_a_connection_nothing_typed_is_lost(page):
    page.context.set_offline(True)
    page.locator(".entry-typed").first.focus()
    page.keyboard.type("7:58.4")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=Not kept yet: no connection.")
    assert focused(page) == "Ben"
    assert page.locator(".entry-typed").first.input_value() == "7:58.4"
    page.context.set_offline(False)
    page.keyboard.type("8:01.0")
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.querySelectorAll('tr.is-saved').length === 2")
    assert {"7:58.4", "8:01.0"} <= set(Effort.objects.values_list("typed", flat=True))


def test_the_page_to_sign_in_at_does_not_take_the_place_of_a_row(page):
    page.context.clear_cookies(name="sessionid")
    page.locator(".entry-typed").first.focus()
    page.keyboard.type("7:58.4")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=Not kept yet: it was not taken.")
    assert page.locator(".entry-typed").first.input_value() == "7:58.4"
