"""What makes the personal pages an app: a manifest, and a service worker whose scope is that one link."""

import hashlib
import json
from functools import lru_cache
from pathlib import Path

from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.templatetags.static import PrefixNode, static
from django.urls import reverse

from athletes.links.keys import IN_ADDRESS, key_in, without_key
from athletes.links.read import athlete_for_token
from sessions.phone.private import SHORT, gone

PAGES = ("phone", "phone-week", "phone-log", "phone-numbers", "phone-progress", "phone-settings")
# Named by their content where they are served for real …
NAMED = (
    "css/tokens.css",
    "css/cards.css",
    "sessions/phone/phone.css",
    "sessions/phone/phone_more.css",
    "sessions/phone/live.css",
    "sessions/clock/clock.css",
    "icon.svg",
    "vendor/fonts/barlow-semi-condensed-phone-400.woff2",
    "vendor/fonts/barlow-semi-condensed-phone-700.woff2",
    "sessions/phone/outbox.js",
    "sessions/phone/app.js",
    "sessions/phone/log.js",
    "sessions/phone/settings.js",
    "sessions/phone/live.js",
)
# … and what other scripts ask for by its plain name.
PLAIN = (
    "sessions/phone/app.js",
    "sessions/phone/unsent.js",
    "sessions/phone/changed.js",
    "sessions/phone/days.js",
    "sessions/clock/clock.js",
    "sessions/clock/follow.js",
    "sessions/clock/signals.js",
)
WORKER = "sessions/phone/worker.js"
FIXED = r"\.[0-9a-f]{12}\.\w+$"  # Django's manifest storage puts 12 digits of the content into a name
PAPER = "#f6f3ec"  # --paper of tokens.css


def manifest(request: HttpRequest, token: str) -> HttpResponse:
    """The app's name, look and first page: that of one link, so that each athlete installs their own.

    It begins at an address with the key, which leads on to one without: some systems keep the cookies of an app apart
    from those of the browser that it came from.
    """
    if athlete_for_token(token) is None:
        return gone(request)
    home, name = _home(token), request.gym.name
    app = {
        "id": home,
        "start_url": f"{home}?{IN_ADDRESS}={key_in(token)}",
        "scope": home,
        "name": name,
        "short_name": name if len(name) <= SHORT else name.split()[0][:SHORT],
        "description": "Your sessions, your numbers and your log.",
        "lang": "en",
        "display": "standalone",
        "background_color": PAPER,
        "theme_color": PAPER,
        "icons": [
            _icon(192, "any"),
            _icon(512, "any"),
            _icon(192, "maskable"),
            _icon(512, "maskable"),
        ],
    }
    return _private(JsonResponse(app, content_type="application/manifest+json"))


def worker(request: HttpRequest, token: str) -> HttpResponse:
    """The service worker. It lies in the folder of the link, and may see that and the whole link, which has no slash
    after the nonce: opened without a network, both lead to what this phone keeps.
    """
    athlete = athlete_for_token(token)
    if athlete is None:
        return gone(request)
    app = {
        "version": version(),
        "home": _home(token),
        "pages": [reverse(f"sessions:{name}", args=[without_key(token)]) for name in PAGES],
        "assets": [*map(static, NAMED), *(PrefixNode.handle_simple("STATIC_URL") + name for name in PLAIN)],
        "fixed": FIXED,
        "outbox": static("sessions/phone/outbox.js"),
        "athlete": str(athlete.key),
        "token": without_key(token),
        "api": reverse("api:my-logs"),
    }
    script = f"const APP = {json.dumps(app)};\n{_text(WORKER)}"
    response = HttpResponse(script, content_type="text/javascript; charset=utf-8")
    response["Service-Worker-Allowed"] = _home(token).rstrip("/")
    return _private(response)


def version() -> str:
    """Changes with the content of anything that the app keeps on a phone, its pages aside."""
    names = sorted({WORKER, *NAMED, *PLAIN})
    return _digest(tuple((name, _path(name).stat().st_mtime_ns) for name in names))


@lru_cache(maxsize=4)
def _digest(files: tuple[tuple[str, int], ...]) -> str:
    """Read again only when a file was written since."""
    return hashlib.sha256(b"".join(_path(name).read_bytes() for name, _ in files)).hexdigest()[:16]


def _home(token: str) -> str:
    return reverse("sessions:phone", args=[without_key(token)])


def _text(name: str) -> str:
    return _path(name).read_text()


def _path(name: str) -> Path:
    return Path(finders.find(name))


def _icon(size: int, purpose: str) -> dict:
    name = f"icon-{size}.png" if purpose == "any" else f"icon-{purpose}-{size}.png"
    return {"src": static(f"sessions/phone/{name}"), "sizes": f"{size}x{size}", "type": "image/png", "purpose": purpose}


def _private(response: HttpResponse) -> HttpResponse:
    response["Cache-Control"] = "private, no-cache"
    return response
