"""A personal link and the device that opens it.

The first page that a link opens leaves two cookies that no script reads: the key of the link (`links.keys`), and a
random name of the device, signed. Whoever holds the link can then limit it to that device: found in a chat or
photographed off the roster, it opens nothing any more. A new link from staff opens on any device again.
"""

import secrets
import time

from django.core import signing
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse

from athletes.links.keys import IN_ADDRESS, SAFE, brought, cookie_of, keep, key_in, whole, without_key
from athletes.links.read import athlete_for_token
from athletes.models import Link

COOKIE, SALT = "device", "links.device"
KEPT_S = 2.0
# What a person opens. Scripts ask for the rest, and where they come with a whole token they are answered at once.
PAGES = {f"sessions:phone{page}" for page in ("", "-week", "-log", "-numbers", "-progress", "-settings", "-stored")}
LEADS_TO_A_PAGE = "sessions:phone-device"
_limited: dict[str, str] = {}
_limited_until = 0.0


def device_of(request: HttpRequest) -> str:
    """The name of the device that sends this; empty on a first visit."""
    try:
        return signing.Signer(salt=SALT).unsign(request.COOKIES.get(COOKIE, ""))
    except signing.BadSignature:
        return ""


def named(request: HttpRequest) -> str:
    """The same; a name for it where it has none, which its answer leaves on it."""
    if not hasattr(request, "new_device"):
        request.new_device = secrets.token_urlsafe(12)
    return device_of(request) or request.new_device


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
    """Exchange a link for a cookie with its key, ask for that cookie under a nonce alone, and refuse a link on a device
    that it is not limited to.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        match = request.resolver_match
        # Each page keeps both cookies for as long again, so that a phone in use is never forgotten.
        if match and match.view_name in PAGES | {LEADS_TO_A_PAGE} and response.status_code in (200, 302, 304):
            token = match.kwargs["token"]
            keep(response, cookie_of(without_key(token)), key_in(token), request)
            keep(response, COOKIE, signing.Signer(salt=SALT).sign(named(request)), request)
        elif match and match.view_name.startswith("sessions:phone") and response.status_code == 410:
            nonce = without_key(match.kwargs["token"])
            key = request.COOKIES.get(cookie_of(nonce))
            # A tablet at the gym may have opened a hundred links, and browsers keep few cookies of one address.
            if key and athlete_for_token(nonce + key) is None:
                response.delete_cookie(cookie_of(nonce), samesite="Lax")
        return response

    def process_view(self, request: HttpRequest, view, args, kwargs) -> HttpResponse | None:
        page = request.resolver_match.view_name
        if not page.startswith("sessions:phone"):
            return None
        by_link = brought(kwargs["token"], request)
        token = by_link or whole(kwargs["token"], request)
        if token is None:
            # 410 as for a dead link: the service worker takes the pages off a phone that may not open them any more,
            # and a page that follows a clock loads itself again, to say so.
            return render(request, "links/unknown_device.html", status=410)
        if not opens_here(token, request):
            return render(request, "links/other_device.html", status=410)
        # The same dict that the view is called with: it gets nonce and key together, as if the address had both, and
        # whatever opens a link goes on checking the signature.
        kwargs["token"] = token
        if by_link and page in PAGES and request.method in SAFE and athlete_for_token(token):
            return _led_on(request, page, token)
        return None


def _led_on(request: HttpRequest, page: str, token: str) -> HttpResponse:
    """From the whole link to the same page under the nonce."""
    query = request.GET.copy()
    query.pop(IN_ADDRESS, None)
    address = reverse(page, args=[without_key(token)])
    response = HttpResponseRedirect(f"{address}?{query.urlencode()}" if query else address)
    response["Cache-Control"] = "private, no-store"
    return response


def _limits() -> dict[str, str]:
    """Which standing links are limited to which device. Read every two seconds: phones come by the hundred."""
    global _limited, _limited_until
    if time.monotonic() > _limited_until:
        standing = Link.objects.filter(revoked_at__isnull=True).exclude(only_device="")
        _limited = dict(standing.values_list("nonce", "only_device"))
        _limited_until = time.monotonic() + KEPT_S
    return _limited
