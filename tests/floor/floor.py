"""Helpers for the tests of the floor sheet."""

import json
from uuid import uuid4

from django.test import Client
from django.urls import reverse

from athletes.models import Athlete
from sessions.boards import files
from sessions.floor.write import Tap
from sessions.models import PublishedSession, Target

HOUR = "06:00"


def target_of(session: PublishedSession, athlete: Athlete, station: int) -> Target:
    return Target.objects.get(session=session, athlete=athlete, station=station)


def tap_on(target: Target, act: str, **more) -> Tap:
    basis = (target.rung, target.dose, target.load_kg)
    key = more.pop("key", uuid4())
    return Tap(key=key, athlete_id=target.athlete_id, station=target.station, act=act, basis=basis, **more)


def phone_page(session: PublishedSession, athlete: Athlete) -> str:
    """The frozen file of this session on an athlete's page."""
    page = session.publication.pages.get(athlete=athlete)
    sessions = json.loads(files.read(page.path))["sessions"]
    return next(part["html"] for part in sessions if part["key"] == str(session.key))


def send(client: Client, session: PublishedSession, kind: str, **body):
    """What floor.js sends when something is tapped."""
    body = {"hour": HOUR, **body}
    address = reverse(f"sessions:floor-{kind}", args=[session.pk])
    return client.post(address, json.dumps(body, default=str), content_type="application/json")
