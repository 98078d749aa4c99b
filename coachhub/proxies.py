"""Whom to believe about where a request comes from: the proxies that whoever hosts coachhub named, and nobody else."""

from ipaddress import ip_address, ip_network

from django.conf import settings
from django.http import HttpRequest, HttpResponse

SAID_BY_PROXIES = ("HTTP_X_FORWARDED_FOR", "HTTP_X_FORWARDED_PROTO", "HTTP_X_FORWARDED_HOST", "HTTP_FORWARDED")


class ProxyMiddleware:
    """Drop what a request says of itself, unless it comes from a proxy that was named. Stands before everything."""

    def __init__(self, get_response):
        self.get_response = get_response
        self.named = [ip_network(name, strict=False) for name in settings.PROXIES]

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.was_forwarded = any(name in request.META for name in SAID_BY_PROXIES)
        if not self._is_named(request.META.get("REMOTE_ADDR", "")):
            for name in SAID_BY_PROXIES:
                request.META.pop(name, None)
        return self.get_response(request)

    def _is_named(self, address: str) -> bool:
        try:
            found = ip_address(address)
        except ValueError:
            return False
        return any(found in network for network in self.named)
