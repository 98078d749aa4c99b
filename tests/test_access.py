"""Every page with every role: what the table says is what happens, and no page is without a rule."""

from copy import deepcopy
from datetime import date
from uuid import uuid4

import pytest
from django.db import transaction
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from athletes.links.write import link_issue, screen_link_issue
from athletes.models import Link
from coachhub.access import ANYONE, ATHLETE, COACH, OWNER, RULES, STAFF, allowed
from tests.conftest import client_of

# Values for the arguments of every URL; the rows exist (see `world`) or not, which must not matter to a refusal.
ARGUMENTS = {"pk": 1, "slug": "row", "monday": date(2026, 11, 23), "size": "a3", "token": "none"}
ARGUMENTS |= {"key": uuid4(), "day": date(2026, 11, 25)}
IN_THE_VIEW = {"sessions:wall", "sessions:calendar", "sessions:phone", "sessions:phone-week", "sessions:phone-numbers"}
IN_THE_VIEW |= {f"sessions:phone-{name}" for name in ("progress", "log", "settings", "manifest", "worker")}


def patterns(resolver=None, namespace=""):
    """(name, argument names) of every URL of the site."""
    for pattern in (resolver or get_resolver()).url_patterns:
        if isinstance(pattern, URLResolver):
            inner = f"{namespace}{pattern.namespace}:" if pattern.namespace else namespace
            yield from patterns(pattern, inner)
        elif isinstance(pattern, URLPattern):
            yield (
                f"{namespace}{pattern.name}",
                list(pattern.pattern.converters) or list(pattern.pattern.regex.groupindex),
            )


PAGES = sorted(dict(patterns()).items())


def test_every_page_has_a_rule_and_every_rule_a_page():
    assert {name for name, _ in PAGES} == set(RULES)


def test_a_name_without_a_rule_is_refused_to_the_owner(owner):
    assert not allowed(owner, "sessions:made-up", "GET")


def address(name: str, arguments: list[str]) -> str:
    route = {argument: ARGUMENTS.get(argument, 1) for argument in arguments}
    return reverse(name, kwargs=route)


def test_each_role_gets_what_the_table_says(gym_row, staff, coach, owner):
    signed_in = {ANYONE: Client(), STAFF: client_of(staff), COACH: client_of(coach), OWNER: client_of(owner)}
    wrong = []
    for name, arguments in PAGES:
        url = address(name, arguments)
        for role, client in signed_in.items():
            visitor = Client(raise_request_exception=False)
            visitor.cookies = deepcopy(client.cookies)  # one of the pages signs out
            for method in ("GET", "POST"):
                with transaction.atomic():
                    status = visitor.generic(method, url).status_code
                    transaction.set_rollback(True)  # every page finds the gym as it was
                if not as_the_table_says(name, role, method, status):
                    wrong.append(f"{role or 'anyone'} {method} {name}: {status}")
    assert wrong == []


def as_the_table_says(name: str, role: str, method: str, status: int) -> bool:
    if RULES[name].allows(role, method):
        return status not in (401, 403) and status < 500
    if role == ANYONE and not name.startswith("api:"):
        return status == 302
    return status in (401, 403)


@pytest.mark.parametrize(("name", "arguments"), [p for p in PAGES if p[0].startswith("api:")])
def test_an_athletes_link_reads_only_its_own_part_of_the_api(name, arguments, gym_row, make_athlete):
    link = link_issue(athlete=make_athlete(), by=None)
    answer = Client(headers={"Authorization": f"Link {link.token}"}).get(address(name, arguments))
    assert answer.status_code == (404 if name == "api:unknown" else 200 if RULES[name].allows(ATHLETE, "GET") else 403)


@pytest.mark.parametrize("name", sorted(IN_THE_VIEW))
def test_a_link_that_was_never_made_opens_nothing(name, gym_row, owner_client):
    assert owner_client.get(reverse(name, kwargs={"token": "x" * 28})).status_code == 410


def test_a_personal_link_does_not_open_the_wall_and_the_wall_link_no_phone(gym_row, make_athlete):
    personal, screen = link_issue(athlete=make_athlete(), by=None), screen_link_issue(by=None)
    assert Client().get(reverse("sessions:wall", args=[personal.token])).status_code == 410
    assert Client().get(reverse("sessions:phone", args=[screen.token])).status_code == 410


def test_a_nonce_without_its_signature_opens_nothing(gym_row, make_athlete):
    link = link_issue(athlete=make_athlete(), by=None)
    assert Client().get(reverse("sessions:phone", args=[link.nonce])).status_code == 410
    forged = link.nonce + "A" * 16
    assert Client().get(reverse("sessions:phone", args=[forged])).status_code == 410
    assert Link.nonce_of(forged) is None
