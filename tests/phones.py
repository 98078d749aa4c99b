"""Phones that have opened a personal link, as tests and benchmarks need them."""

from django.test import Client
from django.urls import reverse

from athletes.links.keys import cookie_of, key_in, without_key
from athletes.models import Link


def phone_of(link: Link) -> Client:
    """A client that has opened a link: it keeps the key, and asks under `at` from now on."""
    client = Client()
    assert client.get(reverse("sessions:phone", args=[link.token])).status_code == 302
    return client


def at(link: Link, name: str = "phone") -> str:
    """The address of a page on such a phone."""
    return reverse(f"sessions:{name}", args=[link.nonce])


def open_page(link: Link, name: str = "phone", **headers):
    """What a phone that has opened a link gets of one of its pages."""
    return phone_of(link).get(at(link, name), headers=headers)


def asked_by(token: str) -> tuple[str, str]:
    """For programs that speak HTTP themselves: the folder of a link's pages on a phone, and what its cookie says."""
    nonce = without_key(token)
    return f"/a/{nonce}/", f"{cookie_of(nonce)}={key_in(token)}"
