from django.http import HttpRequest, HttpResponse
from rest_framework.request import Request

from athletes.audit.pages import OF_ATHLETE, PAGES
from athletes.models import AuditEntry

SAFE = ("GET", "HEAD", "OPTIONS")


def entry_about(request: HttpRequest | Request, athlete_id: int | None) -> None:
    """Let the entry of this request be about an athlete whom its address does not name."""
    getattr(request, "_request", request).entry_about = athlete_id  # the API wraps the request that the middleware has


class AuditMiddleware:
    """Enter who saw or changed what is private, once it has succeeded."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        match = request.resolver_match
        if match and match.view_name in PAGES and response.status_code < 400:
            _enter(request, response, match.view_name, match.kwargs)
        return response


def _enter(request: HttpRequest, response: HttpResponse, page: str, arguments: dict) -> None:
    looked, sent = PAGES[page]
    changed = request.method not in SAFE
    if changed and response.status_code < 300 and not page.startswith("api:"):
        return  # a form that was refused is shown again; one that was taken leads on
    account = request.user if getattr(request.user, "pk", None) else None
    if account is None or not (sent if changed else looked):
        return
    named = int(arguments["pk"]) if page in OF_ATHLETE and "pk" in arguments else None
    athlete = getattr(request, "entry_about", named)
    AuditEntry.objects.create(account=account, by=str(account), page=page, changed=changed, athlete_id=athlete)
