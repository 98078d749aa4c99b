"""Whom to believe about where a request comes from: the proxies that whoever hosts coachhub named, and nobody else."""

from functools import lru_cache
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network

from django.conf import settings
from django.http import HttpRequest, HttpResponse

SAID_BY_PROXIES = ("HTTP_X_FORWARDED_FOR", "HTTP_X_FORWARDED_PROTO", "HTTP_X_FORWARDED_HOST", "HTTP_FORWARDED")


def neighbourhood(address: str) -> str:
    """The address that is counted: of IPv6 the largest network that one line has (/48), or one could be thousands."""
    found = _read(address)
    if found is None:
        return address
    return str(ip_network((found, 48), strict=False).network_address) if found.version == 6 else str(found)


def came_from(peer: str, forwarded: str) -> str:
    """Where that comes from which `peer` sent: what a named proxy, the last to write the header, saw; or the peer."""
    said = forwarded.split(",")[-1].strip() if forwarded and is_named(peer) else ""
    return neighbourhood(said or peer)


def client_address(request: HttpRequest) -> str:
    """Where a request comes from."""
    return came_from(request.META.get("REMOTE_ADDR", ""), request.META.get("HTTP_X_FORWARDED_FOR", ""))


def is_named(address: str) -> bool:
    """Whether a proxy that was named has this address."""
    found = _read(address)
    return found is not None and any(found in network for network in _networks(tuple(settings.PROXIES)))


def _read(address: str) -> IPv4Address | IPv6Address | None:
    try:
        found = ip_address(address)
    except ValueError:
        return None
    mapped = found.ipv4_mapped if isinstance(found, IPv6Address) else None
    return mapped or found  # ::ffff:192.0.2.7 is what a server that listens for both makes of 192.0.2.7


@lru_cache(maxsize=4)
def _networks(named: tuple[str, ...]) -> list[IPv4Network | IPv6Network]:
    return [ip_network(name, strict=False) for name in named]


class ProxyMiddleware:
    """Drop what a request says of itself, unless it comes from a proxy that was named. Stands before everything."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.was_forwarded = any(name in request.META for name in SAID_BY_PROXIES)
        if not is_named(request.META.get("REMOTE_ADDR", "")):
            for name in SAID_BY_PROXIES:
                request.META.pop(name, None)
        return self.get_response(request)
