"""Every page of sessions and every part of the API with rows that exist: what is allowed opens, and nothing breaks."""

import pytest
from django.urls import get_resolver, resolve, reverse
from rest_framework.views import APIView

from athletes.models import Athlete, Benchmark, Effort, Movement
from coachhub.access import RULES
from sessions.models import Circuit, PlannedSession, Publication, Target, Week

PAGES = {
    "home": list,
    "sessions:week": lambda: [Week.objects.first().starts_on],
    "sessions:planned-create": lambda: [Week.objects.first().starts_on],
    "sessions:planned-change": lambda: [PlannedSession.objects.first().pk],
    "sessions:room": lambda: [PlannedSession.objects.first().pk],
    "sessions:publication": lambda: [Publication.objects.first().pk],
    "sessions:publication-progress": lambda: [Publication.objects.first().pk],
    "sessions:publication-changes": lambda: [Publication.objects.first().pk],
    "sessions:board": lambda: [Publication.objects.first().sessions.first().pk],
    "sessions:board-paper": lambda: [Publication.objects.first().pk, "a4"],
    "sessions:targets": lambda: [Athlete.objects.first().pk],
    "sessions:target": lambda: [Target.objects.first().pk],
    "sessions:curve": lambda: [Athlete.objects.first().pk, "row"],
    "sessions:circuits": list,
    "sessions:circuit-create": list,
    "sessions:circuit-change": lambda: [Circuit.objects.first().pk],
    "api:athlete-detail": lambda: [Athlete.objects.first().pk],
    "api:movement-detail": lambda: [Movement.objects.first().pk],
    "api:benchmark-detail": lambda: [Benchmark.objects.first().pk],
    "api:effort-detail": lambda: [Effort.objects.first().pk],
    "api:circuit-detail": lambda: [Circuit.objects.first().pk],
    "api:circuit-room": lambda: [Circuit.objects.first().pk],
    "api:week-detail": lambda: [Week.objects.first().pk],
    "api:publication-detail": lambda: [Publication.objects.first().pk],
    "api:target-detail": lambda: [Target.objects.first().pk],
}


@pytest.mark.parametrize("name", PAGES)
def test_what_a_role_may_read_opens(name, live_week, staff, staff_client, coach_client, owner_client):
    url = reverse(name, args=PAGES[name]())
    for role, client in (("staff", staff_client), ("coach", coach_client), ("owner", owner_client)):
        expected = 200 if RULES[name].allows(role, "GET") else 403
        assert client.get(url).status_code == expected, role


def test_every_api_address_is_one_that_asks_the_table():
    api = next(p for p in get_resolver().url_patterns if getattr(p, "namespace", None) == "api")
    for pattern in api.url_patterns:
        for endpoint in getattr(pattern, "url_patterns", [pattern]):
            view = endpoint.callback
            assert issubclass(getattr(view, "cls", None) or view.view_class, APIView)
    assert resolve("/api/v1/weeks/1/publish/").view_name == "api:week-publish"


def test_staff_see_the_room_of_a_circuit_they_cannot_edit(live_week, staff_client):
    circuit = Circuit.objects.get()
    page = staff_client.get(reverse("sessions:circuit-change", args=[circuit.pk])).content.decode()
    assert f'hx-vals=\'{{"circuit": "{circuit.pk}"}}\'' in page
    room = staff_client.post(reverse("sessions:circuit-preview"), {"circuit": circuit.pk}).content.decode()
    assert "Athlete 0001" in room


def test_targets_that_are_still_worked_out_are_not_listed(live_week, coach_client):
    Publication.objects.update(state="computing", live_at=None)
    assert coach_client.get("/api/v1/targets/").json()["count"] == 0
