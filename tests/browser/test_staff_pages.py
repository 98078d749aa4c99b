"""Every page of athletes and gym on a narrow and a wide screen: nothing sticks out, nothing breaks the policy."""

import pytest
from django.utils import timezone

from athletes.efforts.write import effort_record
from athletes.gym.read import today
from athletes.links.write import link_issue
from athletes.models import AirReading, Benchmark, LeverReading, Machine, MachineType, Movement, Rack

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def paths(make_athlete, gym_row) -> list[str]:
    type = MachineType.objects.create(
        name="rowing ergometer", engine="row", lever_most=10, setting_advice="Damper at five."
    )
    machine = Machine.objects.create(type=type, number=1)
    LeverReading.objects.create(machine=machine, lever=5, drag=118, density=1.15, taken_on=today())
    AirReading.objects.create(taken_at=timezone.now(), temperature_c=20, humidity_percent=50, wbgt_c=17)
    rack = Rack.objects.create(name="Bar", bar_kg=20, pairs=[[20, 4], [15, 2], [10, 2], [5, 2], [2.5, 2], [1.25, 1]])
    movement = Movement.objects.create(name="Row", slug="row", kind="engine", engine="row", machine_type=type)
    benchmark = Benchmark.objects.create(
        name="2000 m row", slug="row", movement=movement, measure="time_for_distance", fixed=2000
    )
    athlete = make_athlete("Wilhelmina Featherstone-Haughton-Oberstaufenbach", board_name="Mina")
    link_issue(athlete=athlete, by=None)
    effort_record(athlete=athlete, benchmark=benchmark, typed="7:42.3", performed_on=today(), by=None, confirmed=True)
    one = f"/athletes/{athlete.pk}/"
    return [
        "/athletes/", "/athletes/new/", one, f"{one}change/", f"{one}efforts/", f"{one}limitations/",
        f"{one}overrides/", "/athletes/roster/",
        "/benchmarks/", "/benchmarks/new/", f"/benchmarks/{benchmark.pk}/test-day/",
        "/movements/", f"/movements/{movement.pk}/", "/gym/", "/gym/machines/", f"/gym/machines/{type.pk}/",
        f"/gym/machines/{type.pk}/?drag=115", "/gym/loads/", "/gym/loads/new/", f"/gym/loads/{rack.pk}/", "/gym/air/",
        "/gym/accounts/", "/gym/screen/", "/account/", "/account/password/",
    ]  # fmt: skip


@pytest.mark.parametrize("width", [360, 1280])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_pages_fit_the_screen(open_page, owner_client, paths, width, scheme):
    page = open_page(owner_client, width=width, height=740, color_scheme=scheme)
    for path in paths:
        assert page.goto(path).status == 200, path
        assert page.evaluate("() => document.documentElement.scrollWidth") <= width, path


def test_the_first_tab_leads_past_the_navigation(open_page, owner_client, paths):
    page = open_page(owner_client)
    page.goto("/athletes/")
    page.keyboard.press("Tab")
    assert page.evaluate("() => document.activeElement.textContent") == "Skip to the page"
    page.keyboard.press("Enter")
    assert page.url.endswith("#main")
