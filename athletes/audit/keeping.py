"""Who saw or changed what is private: entered by a middleware, once it has succeeded; one row a page, or none."""

from django.http import HttpRequest, HttpResponse
from rest_framework.request import Request

from athletes.audit.pages import ANSWERED, OF_ATHLETE, PAGES
from athletes.models import Account, AuditEntry

SAFE = ("GET", "HEAD", "OPTIONS")


def entry_about(request: HttpRequest | Request, athlete_id: int | None) -> None:
    """Let the entry of this request be about an athlete whom its address does not name."""
    getattr(request, "_request", request).entry_about = athlete_id  # the API wraps the request that the middleware has


def entry_as(request: HttpRequest, event: str) -> None:
    """Let the entry of this request say that this happened (a page or one of `pages.EVENTS`), whatever it answers."""
    request.entry_as = event


def nothing_happened(request: HttpRequest) -> None:
    """For a form that was refused and leads on all the same."""
    request.entry_as = ""


def entry_of(account: Account, event: str) -> None:
    """Enter at once what happened to an account whose owner may not be the one who asks."""
    AuditEntry.objects.create(account=account, by=str(account), page=event, changed=True)


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
    event = getattr(request, "entry_as", None)
    if event is None and changed and response.status_code < 300 and not page.startswith(ANSWERED):
        return  # a form that was refused is shown again; one that was taken leads on
    account = request.user if getattr(request.user, "pk", None) else None
    if account is None or event == "" or not (event or (sent if changed else looked)):
        return
    athlete = getattr(request, "entry_about", _named(page, arguments))
    AuditEntry.objects.create(account=account, by=str(account), page=event or page, changed=changed, athlete_id=athlete)


def _named(page: str, arguments: dict) -> int | None:
    """The athlete whom the address names."""
    if page in OF_ATHLETE and "pk" in arguments:
        return int(arguments["pk"])
    return int(arguments["athlete"]) if "athlete" in arguments else None
