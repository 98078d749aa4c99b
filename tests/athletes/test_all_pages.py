"""Every page of athletes that exists opens for every role that may see it (tests/test_access.py lets 404 pass)."""

import pytest
from django.urls import get_resolver, reverse

from athletes.models import Limitation, Machine, MachineType
from athletes.selectors.gym import today
from athletes.services.links import link_issue, screen_link_issue
from athletes.urls import urlpatterns
from coachhub.access import COACH, OWNER, RULES, STAFF
from tests.conftest import client_of

BY_POST = {"link-renew", "link-revoke", "limitation-end"}
PAGES = [f"athletes:{pattern.name}" for pattern in urlpatterns if pattern.name not in BY_POST]


@pytest.fixture
def world(gym_row, make_athlete, row_2000, record, staff) -> dict:
    """One row of each model; the id that each page takes, by the beginning of its name."""
    rower = MachineType.objects.create(name="rowing ergometer", engine="row")
    Machine.objects.create(type=rower, number=1)
    athlete = make_athlete()
    link_issue(athlete=athlete, by=staff)
    screen_link_issue(by=staff)
    Limitation.objects.create(athlete=athlete, kind="skill", patterns=["push"], starts_on=today(), entered_by=staff)
    ids = {"benchmark": row_2000.pk, "movement": row_2000.movement_id, "machine": rower.pk, "account": staff.pk}
    return {**ids, "effort-void": record(athlete, row_2000, "7:42.3").pk, "": athlete.pk}


def address(name: str, ids: dict) -> str:
    page = name.removeprefix("athletes:")
    takes = next(iter(get_resolver("athletes.urls").reverse_dict.getlist(page)))[0][0][1]
    pk = next(pk for start, pk in ids.items() if page.startswith(start))
    return reverse(name, args=[pk] if takes else [])


@pytest.mark.parametrize("name", PAGES)
def test_it_opens_for_whoever_may_see_it(name, world, staff, coach, owner):
    for role, account in {STAFF: staff, COACH: coach, OWNER: owner}.items():
        if RULES[name].allows(role, "GET"):
            assert client_of(account).get(address(name, world)).status_code == 200, role


@pytest.mark.parametrize("page", sorted(BY_POST))
def test_what_is_only_done_leads_back_to_the_athlete(page, world, staff_client):
    pk = Limitation.objects.get().pk if page == "limitation-end" else world[""]
    answer = staff_client.post(reverse(f"athletes:{page}", args=[pk]))
    assert (answer.status_code, answer.headers["Location"]) == (302, f"/athletes/{world['']}/")
