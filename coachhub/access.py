"""Who may see and change what: every page of the site, in one table.

A URL name that is not in the table is refused to everyone, so a new page must be entered here before it answers.
The middleware enforces it for pages and `RolePermission` for the API; what one athlete may see of another is decided
by selectors, which take the athlete as an argument.
"""

from dataclasses import dataclass

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.shortcuts import redirect
from rest_framework.permissions import SAFE_METHODS, BasePermission

from athletes.accounts.second import owes_second

ANYONE, ATHLETE, STAFF, COACH, OWNER = "", "athlete", "staff", "coach", "owner"
ROLES = (ANYONE, ATHLETE, STAFF, COACH, OWNER)  # each may do what the earlier ones may


@dataclass(frozen=True)
class Rule:
    """The least role that may read (GET, HEAD, OPTIONS) and the least that may change; `change` None: as `read`."""

    read: str
    change: str | None = None

    def allows(self, role: str, method: str) -> bool:
        least = self.read if method in SAFE_METHODS or self.change is None else self.change
        return ROLES.index(role) >= ROLES.index(least)


# What is left to who owes the gym a second step.
SETTING_UP = ("account-second", "account-codes", "account-passkey-ask", "account-passkey-answer")
OPEN = Rule(ANYONE)
# The address is the key, on a phone with the cookie of its link: the view checks that it is valid and not revoked.
LINK = Rule(ANYONE)

RULES: dict[str, Rule] = {
    "login": OPEN,
    "login-second": OPEN,  # whoever has given the password within ten minutes
    "passkey-ask": OPEN,
    "passkey-answer": OPEN,
    "invitation": LINK,
    "logout": OPEN,
    "healthy": OPEN,
    "metrics": OPEN,  # the view asks for this machine or a token
    "home": Rule(STAFF),
    "this-week": Rule(STAFF),
    "account": Rule(STAFF),
    "account-password": Rule(STAFF),
    "account-token": Rule(STAFF),
    "account-second": Rule(STAFF),
    "account-codes": Rule(STAFF),
    "account-second-off": Rule(STAFF),
    "account-passkey-ask": Rule(STAFF),
    "account-passkey-answer": Rule(STAFF),
    "account-passkey-remove": Rule(STAFF),
    "account-sign-ins-off": Rule(STAFF),
    "sessions:first-hour": Rule(COACH),
    "sessions:first-hour-gym": Rule(COACH, OWNER),
    "sessions:first-hour-people": Rule(COACH),
    "sessions:first-hour-people-reading": Rule(COACH),
    "sessions:first-hour-room": Rule(COACH),
    "sessions:first-hour-week": Rule(COACH),
    "sessions:first-hour-unknown": Rule(COACH),
    "sessions:first-hour-publish": Rule(COACH),
    "sessions:first-hour-leave": Rule(COACH),
    # the gym
    "athletes:gym": Rule(OWNER),
    "gym-archive": Rule(OWNER),
    "gym-archive-progress": Rule(OWNER),
    "gym-archive-file": Rule(OWNER),
    "athletes:accounts": Rule(OWNER),
    "athletes:accounts-second": Rule(OWNER),
    "athletes:audit": Rule(OWNER),
    "athletes:account-create": Rule(OWNER),
    "athletes:account-change": Rule(OWNER),
    "athletes:account-invite": Rule(OWNER),
    "athletes:machines": Rule(STAFF, OWNER),
    "athletes:machine-change": Rule(STAFF, OWNER),
    "athletes:lever-add": Rule(STAFF),
    "athletes:lever-remove": Rule(STAFF),
    "athletes:racks": Rule(STAFF),
    "athletes:rack-create": Rule(COACH),
    "athletes:rack-change": Rule(COACH),
    "athletes:rack-remove": Rule(COACH),
    "athletes:air": Rule(STAFF),
    "athletes:air-remove": Rule(STAFF),
    "athletes:screen-link": Rule(COACH),
    # athletes and what they can do
    "athletes:list": Rule(STAFF),
    "athletes:create": Rule(STAFF),
    "athletes:detail": Rule(STAFF),
    "athletes:change": Rule(STAFF),
    "athletes:checks": Rule(STAFF),
    "athletes:doubles": Rule(STAFF),
    "athletes:merge": Rule(COACH),
    "athletes:merge-undo": Rule(COACH),
    "athletes:roster": Rule(STAFF),
    "athletes:imports": Rule(COACH),
    "athletes:import": Rule(COACH),
    "athletes:import-reading": Rule(COACH),
    "athletes:import-names": Rule(COACH),
    "athletes:import-keep": Rule(COACH),
    "athletes:import-cancel": Rule(COACH),
    "athletes:import-take-back": Rule(COACH),
    "athletes:import-discard": Rule(COACH),
    "athletes:import-progress": Rule(COACH),
    "athletes:import-remarks": Rule(COACH),
    "athletes:exports": Rule(COACH),
    "athletes:export": Rule(COACH),
    "athletes:link-renew": Rule(STAFF),
    "athletes:link-revoke": Rule(STAFF),
    "athletes:limitation-create": Rule(STAFF),
    "athletes:limitation-end": Rule(STAFF),
    "athletes:override-create": Rule(COACH),
    "athletes:override-end": Rule(COACH),
    "athletes:effort-create": Rule(STAFF),
    "athletes:effort-void": Rule(STAFF),
    "athletes:benchmarks": Rule(STAFF),
    "athletes:benchmark-create": Rule(COACH),
    "athletes:benchmark-change": Rule(COACH),
    "athletes:benchmark-library": Rule(COACH),
    "athletes:benchmark-entry": Rule(STAFF),
    "athletes:test-days": Rule(STAFF),
    "athletes:test-day-create": Rule(STAFF),
    "athletes:test-day": Rule(STAFF),
    "athletes:test-day-add": Rule(STAFF),
    "athletes:test-day-take-off": Rule(STAFF),
    "athletes:test-day-put-back": Rule(STAFF),
    "athletes:test-day-move": Rule(STAFF),
    "athletes:test-day-remove": Rule(COACH),
    "athletes:grid": Rule(STAFF),
    "athletes:grid-cells": Rule(STAFF),
    "athletes:grid-open": Rule(STAFF),
    "athletes:movements": Rule(STAFF),
    "athletes:movement-create": Rule(COACH),
    "athletes:movement-change": Rule(STAFF),
    "athletes:movement-make": Rule(COACH),
    "athletes:movement-archive": Rule(COACH),
    # what they are asked to do
    "sessions:circuits": Rule(STAFF),
    "sessions:circuit-create": Rule(COACH),
    "sessions:circuit-change": Rule(STAFF, COACH),
    "sessions:circuit-preview": Rule(STAFF),
    "sessions:circuit-archive": Rule(COACH),
    "sessions:builds": Rule(STAFF),
    "sessions:build-create": Rule(COACH),
    "sessions:build": Rule(STAFF),
    "sessions:build-decision": Rule(COACH),
    "sessions:circuit-reading": Rule(STAFF),
    "sessions:circuit-fields": Rule(COACH),
    "sessions:circuit-draft": Rule(COACH),
    "sessions:circuit-draft-away": Rule(COACH),
    "sessions:week": Rule(STAFF, COACH),
    "sessions:week-library": Rule(COACH),
    "sessions:planned-create": Rule(COACH),
    "sessions:planned-change": Rule(COACH),
    "sessions:planned-move": Rule(COACH),
    "sessions:planned-take-off": Rule(COACH),
    "sessions:planned-put-back": Rule(COACH),
    "sessions:planned-copy": Rule(COACH),
    "sessions:room": Rule(STAFF),
    "sessions:accustomed": Rule(COACH),
    "sessions:settings-effect": Rule(OWNER),
    "sessions:review": Rule(COACH),
    "sessions:publish": Rule(COACH),
    "sessions:bring-back": Rule(COACH),
    "sessions:publication": Rule(STAFF),
    "sessions:publication-progress": Rule(STAFF),
    "sessions:publication-cancel": Rule(COACH),
    "sessions:publication-changes": Rule(STAFF),
    "sessions:target": Rule(STAFF),
    "sessions:target-of": Rule(COACH),
    "sessions:targets": Rule(STAFF),
    "sessions:pins": Rule(STAFF),
    "sessions:pin": Rule(COACH),
    "sessions:pin-off": Rule(COACH),
    "sessions:pins-many": Rule(COACH),
    "sessions:pins-many-off": Rule(COACH),
    "sessions:curve": Rule(COACH),
    "sessions:progress": Rule(COACH),
    "sessions:progress-held": Rule(COACH),
    "sessions:progress-athlete": Rule(COACH),
    "sessions:progress-report": Rule(COACH),
    "sessions:pace": Rule(COACH),
    "sessions:cautions": Rule(STAFF),
    "sessions:export": Rule(COACH),
    "sessions:everything": Rule(COACH),
    "sessions:erase": Rule(OWNER),
    "sessions:board": Rule(STAFF),
    "sessions:board-paper": Rule(STAFF),
    "sessions:clock": Rule(STAFF),
    "sessions:clock-state": Rule(STAFF),
    "sessions:clock-presses": Rule(STAFF),
    "sessions:floor": Rule(STAFF),
    "sessions:floor-rows": Rule(STAFF),
    "sessions:floor-dose": Rule(COACH),
    "sessions:floor-ahead": Rule(COACH),
    "sessions:floor-attendance": Rule(STAFF),
    "sessions:floor-log": Rule(STAFF),
    "sessions:floor-class-log": Rule(STAFF),
    "sessions:floor-places": Rule(STAFF),
    "sessions:floor-offer": Rule(COACH),
    "sessions:floor-start": Rule(COACH),
    "sessions:floor-log-detail": Rule(STAFF),
    "sessions:floor-walk-in": Rule(STAFF),
    "sessions:floor-walk-in-known": Rule(STAFF),
    "sessions:flags": Rule(STAFF),
    "sessions:retests": Rule(STAFF),
    "sessions:flag-seen": Rule(STAFF),
    # links that are their own key
    "sessions:wall": LINK,
    "sessions:wall-clock": LINK,
    "sessions:wall-clock-plan": LINK,
    "sessions:class-page": OPEN,
    "sessions:calendar": LINK,
    "sessions:phone": LINK,
    "sessions:phone-week": LINK,
    "sessions:phone-coming": LINK,
    "sessions:phone-numbers": LINK,
    "sessions:phone-progress": LINK,
    "sessions:phone-log": LINK,
    "sessions:phone-settings": LINK,
    "sessions:phone-device": LINK,
    "sessions:phone-stored": LINK,
    "sessions:phone-manifest": LINK,
    "sessions:phone-worker": LINK,
    "sessions:phone-clock": LINK,
    "sessions:phone-clock-plan": LINK,
    # the API
    "api:root": Rule(STAFF),
    "api:schema": Rule(STAFF),
    "api:docs": Rule(STAFF),
    "api:athlete-list": Rule(STAFF),
    "api:athlete-detail": Rule(STAFF),
    "api:athlete-link-renew": Rule(STAFF),
    "api:athlete-link-revoke": Rule(STAFF),
    "api:athlete-estimates": Rule(STAFF),
    "api:athlete-progress": Rule(COACH),
    "api:movement-list": Rule(STAFF, COACH),
    "api:movement-detail": Rule(STAFF),
    "api:benchmark-list": Rule(STAFF, COACH),
    "api:benchmark-detail": Rule(STAFF, COACH),
    "api:effort-list": Rule(STAFF),
    "api:effort-detail": Rule(STAFF),
    "api:effort-void": Rule(STAFF),
    "api:limitation-list": Rule(STAFF),
    "api:limitation-detail": Rule(STAFF),
    "api:limitation-end": Rule(STAFF),
    "api:override-list": Rule(STAFF, COACH),
    "api:override-detail": Rule(STAFF),
    "api:override-end": Rule(COACH),
    "api:gym": Rule(OWNER),
    "api:machine-type-list": Rule(STAFF, OWNER),
    "api:machine-type-detail": Rule(STAFF, OWNER),
    "api:machine-list": Rule(STAFF, OWNER),
    "api:machine-detail": Rule(STAFF),
    "api:machine-take-off": Rule(OWNER),
    "api:machine-put-back": Rule(OWNER),
    "api:rack-list": Rule(STAFF, COACH),
    "api:rack-detail": Rule(STAFF, COACH),
    "api:lever-reading-list": Rule(STAFF),
    "api:lever-reading-detail": Rule(STAFF),
    "api:air-reading-list": Rule(STAFF),
    "api:air-reading-detail": Rule(STAFF),
    "api:merge-list": Rule(COACH),
    "api:merge-detail": Rule(COACH),
    "api:merge-undo": Rule(COACH),
    "api:test-day-list": Rule(STAFF),
    "api:test-day-detail": Rule(STAFF, COACH),
    "api:test-day-move": Rule(STAFF),
    "api:test-day-add": Rule(STAFF),
    "api:test-day-take-off": Rule(STAFF),
    "api:test-day-kept-out": Rule(STAFF),
    "api:test-day-entries": Rule(STAFF),
    "api:import-list": Rule(COACH),
    "api:import-detail": Rule(COACH),
    "api:import-check": Rule(COACH),
    "api:import-reread": Rule(COACH),
    "api:import-keep": Rule(COACH),
    "api:import-cancel": Rule(COACH),
    "api:import-take-back": Rule(COACH),
    "api:import-remarks": Rule(COACH),
    "api:circuit-list": Rule(STAFF, COACH),
    "api:circuit-detail": Rule(STAFF, COACH),
    "api:circuit-room": Rule(STAFF),
    "api:circuit-read": Rule(STAFF),
    "api:room-preview": Rule(STAFF),
    "api:week-list": Rule(STAFF, COACH),
    "api:week-detail": Rule(STAFF, COACH),
    "api:week-publish": Rule(COACH),
    "api:publication-list": Rule(STAFF),
    "api:publication-detail": Rule(STAFF),
    "api:publication-cancel": Rule(COACH),
    "api:publication-bring-back": Rule(COACH),
    "api:class-list": Rule(STAFF),
    "api:class-detail": Rule(STAFF),
    "api:class-attendance": Rule(STAFF),
    "api:class-clock": Rule(STAFF),
    "api:class-logs": Rule(STAFF),
    "api:class-class-log": Rule(STAFF),
    "api:class-walk-ins": Rule(STAFF),
    "api:class-floor": Rule(STAFF),
    "api:class-starts": Rule(COACH),
    "api:class-doses": Rule(COACH),
    "api:class-offers": Rule(STAFF, COACH),
    "api:pin-list": Rule(STAFF, COACH),
    "api:pin-detail": Rule(STAFF),
    "api:pin-many": Rule(COACH),
    "api:pin-take-off": Rule(COACH),
    "api:pin-undo": Rule(COACH),
    "api:build-list": Rule(STAFF, COACH),
    "api:build-detail": Rule(STAFF),
    "api:build-proposal": Rule(STAFF),
    "api:build-decide": Rule(COACH),
    "api:build-undo": Rule(COACH),
    "api:accustomed-list": Rule(COACH),
    "api:accustomed-take-back": Rule(COACH),
    "api:flag-list": Rule(STAFF),
    "api:flag-seen": Rule(STAFF),
    "api:retests": Rule(STAFF),
    "api:target-list": Rule(STAFF),
    "api:target-detail": Rule(STAFF),
    "api:my-targets": Rule(ATHLETE),
    "api:my-benchmarks": Rule(ATHLETE),
    "api:my-logs": Rule(ATHLETE),
    **dict.fromkeys(("api:unknown", "api-root", "api-elsewhere"), OPEN),  # say so
}


def role_of(user) -> str:
    """The role of a signed-in person (or of an athlete's link, through the API); ANYONE otherwise."""
    return getattr(user, "role", ANYONE) if user.is_authenticated and user.is_active else ANYONE


def allowed(user, view_name: str, method: str) -> bool:
    """Whether `user` may call the page or endpoint `view_name` with `method`; names without a rule are refused."""
    rule = RULES.get(view_name)
    if rule is OPEN or rule is LINK:
        return True  # without asking who it is, which would read the login session
    return rule is not None and rule.allows(role_of(user), method)


class RoleMiddleware:
    """Refuse every page that the table does not give to this person; ask the signed-out to sign in."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        return self.get_response(request)

    def process_view(self, request, view, args, kwargs):
        name = request.resolver_match.view_name
        if name.startswith("api:") and name in RULES:
            return None  # tokens are read by the API itself, which then asks RolePermission
        if allowed(request.user, name, request.method):
            return redirect("account-second") if _owes_second(request) and name not in SETTING_UP else None
        if request.user.is_authenticated:
            raise PermissionDenied
        return redirect_to_login(request.get_full_path())


class RolePermission(BasePermission):
    """The same table for the API."""

    def has_permission(self, request, view) -> bool:
        name = request.resolver_match.view_name
        if allowed(request.user, name, request.method) and _owes_second(request):
            raise PermissionDenied("Your gym asks for a second step. Sign in to set one up, then the API opens.")
        return allowed(request.user, name, request.method)


def _owes_second(request) -> bool:
    """Whether this person has to set up a second step first. Never asked of open pages, which read no login session."""
    if RULES[request.resolver_match.view_name] in (OPEN, LINK):
        return False
    return request.user.is_authenticated and owes_second(request.user, request.gym)


def role_context(request) -> dict:
    """`may_coach` and `may_own` for templates, so that nobody is shown a button that would be refused."""
    role = role_of(request.user) if hasattr(request, "user") else ANYONE
    rank = ROLES.index(role)
    return {"may_coach": rank >= ROLES.index(COACH), "may_own": rank >= ROLES.index(OWNER)}
