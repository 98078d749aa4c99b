"""Every page of athletes that exists opens for every role that may see it (tests/test_access.py lets 404 pass)."""

from uuid import uuid4

import pytest
from django.urls import get_resolver, reverse
from django.utils import timezone

from athletes.gym.read import today
from athletes.importing.write import import_begin
from athletes.links.write import link_issue, screen_link_issue
from athletes.models import (
    AirReading,
    LeverReading,
    Limitation,
    Machine,
    MachineType,
    Override,
    Rack,
    TestDay,
    TestSlot,
)
from athletes.urls import urlpatterns
from coachhub.access import COACH, OWNER, RULES, STAFF
from tests.conftest import client_of

BACK_TO_THE_ATHLETE = {"link-renew", "link-revoke", "limitation-end", "override-end"}
BY_POST = {
    *BACK_TO_THE_ATHLETE,
    "account-invite",
    "accounts-second",
    "lever-add",
    "lever-remove",
    "rack-remove",
    "air-remove",
}
BY_POST |= {"movement-make", "movement-archive"}
BY_POST |= {"grid-open", "merge-undo", "test-day-add", "test-day-move", "test-day-remove", "test-day-take-off"}
BY_POST |= {"test-day-put-back"}
BY_POST |= {"import-reading", "import-names", "import-keep", "import-cancel", "import-discard", "import-take-back"}
PAGES = [f"athletes:{pattern.name}" for pattern in urlpatterns if pattern.name not in BY_POST]


@pytest.fixture
def world(gym_row, make_athlete, row_2000, record, staff) -> dict:
    """One row of each model; the id that each page takes, by the beginning of its name."""
    rower = MachineType.objects.create(name="rowing ergometer", engine="row", lever_most=10)
    machine = Machine.objects.create(type=rower, number=1)
    LeverReading.objects.create(machine=machine, lever=5, drag=118, density=1.15, taken_on=today(), entered_by=staff)
    AirReading.objects.create(taken_at=timezone.now(), temperature_c=20, entered_by=staff)
    rack = Rack.objects.create(name="Kettlebells", loads=[8, 12, 16])
    athlete = make_athlete()
    link_issue(athlete=athlete, by=staff)
    screen_link_issue(by=staff)
    Limitation.objects.create(athlete=athlete, kind="skill", patterns=["push"], starts_on=today(), entered_by=staff)
    Override.objects.create(athlete=athlete, caution="return", starts_on=today(), ends_on=today(), reason="Ran on.")
    ids = {"benchmark": row_2000.pk, "movement": row_2000.movement_id, "machine": rower.pk, "account": staff.pk}
    file = b"Athlete;2000 m row;Date\nAda Stone;7:41;2025-11-03\n"
    ids |= {"import": import_begin(key=uuid4(), filename="a.csv", content=file, by=staff).pk, "export": "efforts.csv"}
    day = TestDay.objects.create(date=today(), starts_at="09:00")
    TestSlot.objects.create(test_day=day, benchmark=row_2000, athlete=athlete)
    ids |= {"test-day": day.pk, "grid": day.pk}
    return {**ids, "rack": rack.pk, "effort-void": record(athlete, row_2000, "7:42.3").pk, "": athlete.pk}


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


@pytest.mark.parametrize("page", sorted(BACK_TO_THE_ATHLETE))
def test_what_is_only_done_leads_back_to_the_athlete(page, world, coach_client):
    of_rows = {"limitation-end": Limitation, "override-end": Override}
    pk = of_rows[page].objects.get().pk if page in of_rows else world[""]
    answer = coach_client.post(reverse(f"athletes:{page}", args=[pk]))
    assert (answer.status_code, answer.headers["Location"]) == (302, f"/athletes/{world['']}/")
