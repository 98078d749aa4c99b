"""Pages behind a personal link: packed once, sent small, and not at all when the phone has them already."""

import gzip
import hashlib
from dataclasses import dataclass
from functools import cached_property

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import get_conditional_response, patch_vary_headers

from athletes.links.keys import without_key
from athletes.models import Gym
from sessions.words.cards import CAUTION

SHORT = 12  # letters of a gym's name that fit under an icon and in a head


@dataclass(frozen=True)
class Page:
    """A page ready to send; `tag` changes with its content."""

    html: bytes
    tag: str

    @cached_property
    def packed(self) -> bytes:
        """Packing is safe: nothing in the page is chosen by whoever asks for it (no BREACH)."""
        return gzip.compress(self.html, 6, mtime=0)


@dataclass(frozen=True)
class Here:
    """What every page says of the gym."""

    name: str
    local_rules: str
    zone: str


def here(gym: Gym) -> Here:
    return Here(gym.name, gym.local_rules, gym.time_zone)


def made(html: str) -> Page:
    data = html.encode()
    return Page(data, f'"{hashlib.sha256(data).hexdigest()[:20]}"')


def answer(request: HttpRequest, page: Page, status: int = 200) -> HttpResponse:
    packs = "gzip" in request.headers.get("Accept-Encoding", "")
    response = get_conditional_response(request, etag=page.tag) if status == 200 else None
    if response is None:
        response = HttpResponse(page.packed if packs else page.html, status=status)
        if packs:
            response["Content-Encoding"] = "gzip"
    response["ETag"] = page.tag
    response["Cache-Control"] = "private, no-cache"
    patch_vary_headers(response, ["Accept-Encoding"])
    return response


def gone(request: HttpRequest) -> HttpResponse:
    return render(request, "phone/link_gone.html", status=410)


def shell(page: str, token: str, key: str, name: str, gym: Here) -> dict:
    """What every page is made of besides its own: `key` and `name` are the athlete's.

    No page holds the key of its link: as `token` its addresses have the nonce alone.
    """
    return {
        "page": page,
        "token": without_key(token),
        "athlete_key": key,
        "athlete_name": name,
        "gym_name": gym.name,
        "gym_short": gym.name if len(gym.name) <= SHORT else gym.name.split()[0],
        "local_rules": gym.local_rules,
        "zone": gym.zone,
        "caution": CAUTION,
    }
