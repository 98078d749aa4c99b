"""Whole addresses for people and codes."""

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse

from athletes.models import Link


def whole_address(request: HttpRequest, path: str) -> str:
    """`path` with the address that people type, never with what a request says of itself."""
    return settings.SITE_URL + path


def phone_address(request: HttpRequest, link: Link) -> str:
    return whole_address(request, reverse("sessions:phone", args=[link.token]))


def calendar_address(link: Link) -> str:
    return settings.SITE_URL + reverse("sessions:calendar", args=[link.calendar_token])


def screen_address(request: HttpRequest, link: Link) -> str:
    return whole_address(request, reverse("sessions:wall", args=[link.token]))
