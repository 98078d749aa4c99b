"""Who has a long job: silence is noticed within seconds, whichever way the clocks go; a coach can stop it."""

import threading
import time
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes import claims
from sessions.models import Publication
from sessions.publishing import run as publishing
from sessions.publishing.write import publication_request
from tests import gym

State = Publication.State


@pytest.fixture
def queued(furnished, coach) -> Publication:
    gym.people(3)
    return publication_request(week=gym.planned_week(), by=coach)


@pytest.fixture
def computing(queued) -> Publication:
    return claims.claim(Publication.objects.filter(state=State.QUEUED), queued.pk, state=State.COMPUTING)


@pytest.mark.parametrize(
    ("ago_s", "silent"), [(0, False), (8, False), (10, True), (-8, False), (-10, True), (-9e6, True)]
)
def test_silence_and_a_heartbeat_from_the_future_both_count(computing, ago_s, silent):
    Publication.objects.update(heartbeat_at=timezone.now() - timedelta(seconds=ago_s))
    assert publishing.requeue_silent() == ({computing.pk: True} if silent else {})


def test_a_dead_workers_job_is_asked_for_again_within_15_seconds(settings):
    sweep = settings.CELERY_BEAT_SCHEDULE["resume publishing that lost its worker"]
    assert claims.SILENT_AFTER.total_seconds() + sweep["schedule"] <= 12
    assert claims.SILENT_AFTER.total_seconds() > claims.PULSE_S * 3


@pytest.mark.django_db(transaction=True)
def test_a_step_that_takes_long_shows_a_pulse(computing, monkeypatch):
    monkeypatch.setattr(claims, "PULSE_S", 0.05)
    Publication.objects.update(heartbeat_at=timezone.now() - timedelta(minutes=1))
    with claims.held(computing, ValueError, "defect"):
        end = time.monotonic() + 20
        while publishing.requeue_silent() or Publication.objects.get().heartbeat_at < timezone.now() - timedelta(
            seconds=9
        ):
            Publication.objects.update(state=State.COMPUTING, claim=computing.claim)
            assert time.monotonic() < end
            time.sleep(0.02)
    assert "pulse" not in {thread.name for thread in threading.enumerate()}


def test_a_coach_stops_what_is_under_way_and_the_worker_writes_nothing_more(computing, coach_client, staff_client):
    url = reverse("sessions:publication-cancel", args=[computing.pk])
    assert staff_client.post(url).status_code == 403
    page = coach_client.post(url, follow=True).content.decode()
    assert "Stopped by The coach. What was published before stays." in page
    with claims.held(computing, ValueError, "defect"):
        claims.beat(computing, state=State.LIVE)
    computing.refresh_from_db()
    assert computing.state == State.FAILED
    assert publishing.requeue_silent() == {}
    assert "It was done already." in coach_client.post(url, follow=True).content.decode()


def test_what_was_stopped_before_it_began_never_begins(queued, coach_client):
    coach_client.post(reverse("sessions:publication-cancel", args=[queued.pk]))
    publishing.run(queued.pk)
    queued.refresh_from_db()
    assert queued.state == State.FAILED
