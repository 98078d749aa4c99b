"""The pages that show the method and its exceptions: readable by everyone, in light and dark, on laptop and phone."""

from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from athletes.estimates.write import estimates_refresh
from athletes.links.write import link_issue
from athletes.models import Account, Athlete, Effort
from sessions.by_hand.write import pin_set
from sessions.models import Pin, PublishedSession, Target
from tests import gym
from tests.browser.axe import findings_in_both_schemes
from tests.conftest import publish

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SIZES = {"laptop": {}, "phone": {"width": 360, "height": 740}}


@pytest.fixture
def session(begin_with) -> PublishedSession:
    begin_with(one_session_next_week)
    return PublishedSession.objects.get()


def one_session_next_week(coach: Account) -> None:
    gym.people(4)
    publish(gym.planned_week(), coach)


def set_by_hand(session: PublishedSession, athlete: Athlete, coach, dose: float) -> None:
    station = session.definition.stations[1]
    movement = station.prescribed.movement.id
    facts = {"session_key": session.key, "athlete": athlete, "station": 2, "movement_id": movement}
    pin_set(pin=Pin(key=uuid4(), dose=dose, reason="knows it", made_by=coach, **facts), station=station)


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_pages_of_the_method_pass_the_checker(open_page, coach_client, coach, session, size):
    athlete = Athlete.objects.first()
    wrong = Effort.objects.filter(athlete=athlete, benchmark__slug="2000-m-row").first()
    Effort.objects.create(
        athlete=athlete, benchmark=wrong.benchmark, value=260, fixed=2000, typed="4:20", performed_on=wrong.performed_on
    )
    estimates_refresh(athletes=[athlete.pk])
    set_by_hand(session, athlete, coach, 11)
    target = Target.objects.get(session=session, athlete=athlete, station=2)
    pace = reverse("sessions:pace", args=[athlete.pk])
    paths = [
        reverse("sessions:target", args=[target.pk]),
        reverse("sessions:pins", args=[session.key]),
        reverse("sessions:pin", args=[session.key, athlete.pk, 2]),
        f"{pace}?legs=1000+m+run%0A1000+m+row&times=3",
        f"{pace}?legs=nothing",
        reverse("athletes:checks"),
        reverse("athletes:detail", args=[athlete.pk]),
        reverse("sessions:class-page", args=[session.key, session.date]),
    ]
    page, found = open_page(coach_client, color_scheme="light", **size), []
    for path in paths:
        page.goto(path)
        page.wait_for_load_state("networkidle")
        found += findings_in_both_schemes(page)
        if page.evaluate("() => document.documentElement.scrollWidth > innerWidth"):
            found.append(f"{path} scrolls sideways")
    assert not found, "\n".join(found)


def test_a_target_set_by_hand_reaches_the_phone_at_the_next_look(open_page, coach_client, session):
    athlete = Athlete.objects.first()
    phone = open_page(Client(), **SIZES["phone"])
    phone.goto(reverse("sessions:phone-week", args=[link_issue(athlete=athlete, by=None).token]))
    before = phone.locator(".plan-dose .figure").nth(1).text_content()
    page = open_page(coach_client)
    page.goto(reverse("sessions:target", args=[Target.objects.get(session=session, athlete=athlete, station=2).pk]))
    page.get_by_role("link", name="Set it by hand").click()
    page.get_by_label("Pull up").first.check()
    page.get_by_label("Dose").fill("12")
    page.get_by_label("Reason").fill("strong today")
    page.get_by_role("button", name="Set it").click()
    page.get_by_text("It shows on phone and wall at once.").wait_for()
    phone.reload()
    assert phone.locator(".plan-dose .figure").nth(1).text_content() == "12" != before
    assert phone.get_by_text("Set by your coach.").count() == 1
