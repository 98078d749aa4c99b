"""A personal link and the device that opens it.

The first page that a link opens leaves a random name on the device, in a signed cookie that no script reads. Whoever
holds the link can then limit it to that device: found in a chat or photographed off the roster, it opens nothing any
more. A new link from staff opens on any device again.
"""

import secrets
import time

from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from athletes.models import Link

COOKIE, SALT = "device", "links.device"
LASTS_S = 400 * 24 * 3600  # as long as browsers keep a cookie
KEPT_S = 2.0
# The browser asks for the manifest without cookies; it names the gym and the address that was asked for.
WITHOUT_COOKIES = "sessions:phone-manifest"
_limited: dict[str, str] = {}
_limited_until = 0.0


def device_of(request: HttpRequest) -> str:
    """The name of the device that sends this; empty on a first visit."""
    try:
        return signing.Signer(salt=SALT).unsign(request.COOKIES.get(COOKIE, ""))
    except signing.BadSignature:
        return ""


def opens_here(token: str, request: HttpRequest) -> bool:
    """Whether a link may be used on this device. A dead link may: it opens nothing anyway."""
    only = _limits().get(Link.nonce_of(token) or "")
    return only is None or secrets.compare_digest(only, device_of(request))


def link_limit(*, token: str, device: str) -> bool:
    """Let a link open on this device alone, or with an empty `device` on any; whether it is a link that stands."""
    global _limited_until
    found = Link.objects.filter(kind=Link.Kind.ATHLETE, nonce=Link.nonce_of(token) or "", revoked_at__isnull=True)
    changed = found.update(only_device=device)
    _limited_until = 0.0
    return bool(changed)


class DeviceMiddleware:
    """Refuse a link on a device that it is not limited to, and leave a name on a device that has none."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if _is_of_a_phone(request) and response.status_code == 200 and not device_of(request):
            name = signing.Signer(salt=SALT).sign(secrets.token_urlsafe(12))
            facts = {"httponly": True, "samesite": "Lax", "secure": request.is_secure()}
            response.set_cookie(COOKIE, name, max_age=LASTS_S, **facts)
        return response

    def process_view(self, request: HttpRequest, view, args, kwargs) -> HttpResponse | None:
        if _is_of_a_phone(request) and not opens_here(kwargs["token"], request):
            return render(request, "links/other_device.html", status=410)
        return None


def _is_of_a_phone(request: HttpRequest) -> bool:
    match = request.resolver_match
    return bool(match) and match.view_name.startswith("sessions:phone") and match.view_name != WITHOUT_COOKIES


def _limits() -> dict[str, str]:
    """Which standing links are limited to which device. Read every two seconds: phones come by the hundred."""
    global _limited, _limited_until
    if time.monotonic() > _limited_until:
        standing = Link.objects.filter(revoked_at__isnull=True).exclude(only_device="")
        _limited = dict(standing.values_list("nonce", "only_device"))
        _limited_until = time.monotonic() + KEPT_S
    return _limited
