"""Whole addresses for people and codes: as people type them, never as a request says of itself."""

from django.conf import settings
from django.urls import reverse

from athletes.models import Link


def phone_address(link: Link) -> str:
    return settings.SITE_URL + reverse("sessions:phone", args=[link.token])


def calendar_address(link: Link) -> str:
    return settings.SITE_URL + reverse("sessions:calendar", args=[link.calendar_token])


def screen_address(link: Link) -> str:
    return settings.SITE_URL + reverse("sessions:wall", args=[link.token])
