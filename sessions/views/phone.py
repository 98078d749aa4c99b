import json
from datetime import date, timedelta
from functools import lru_cache

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils import timezone

from athletes.selectors.estimates import numbers_of
from athletes.selectors.links import athlete_for_token
from sessions.boards import files
from sessions.boards.cards import CAUTION
from sessions.selectors.phone import opened_by
from sessions.selectors.weeks import monday_of


def today(request: HttpRequest, token: str) -> HttpResponse:
    """Today's session of one athlete; on a free day the next one of the week."""
    return _frozen(request, token, "today")


def week(request: HttpRequest, token: str) -> HttpResponse:
    """All sessions of the athlete's week and the next."""
    return _frozen(request, token, "week")


def numbers(request: HttpRequest, token: str) -> HttpResponse:
    """The athlete's own benchmarks and what they say."""
    athlete = athlete_for_token(token)
    if athlete is None:
        return _gone(request)
    context = {**_shell("numbers", token, athlete.name, request.gym.name, request.gym.local_rules), "athlete": athlete}
    return _private(render_to_string("sessions/phone_numbers.html", {**context, **numbers_of(athlete)}))


def _frozen(request: HttpRequest, token: str, page: str) -> HttpResponse:
    day, gym = timezone.localdate(), request.gym
    monday = monday_of(day)
    opened = opened_by(token, (monday, monday + timedelta(days=7)))
    if opened is None:
        return _gone(request)
    name, pages = opened
    return _private(_rendered(page, token, name, gym.name, gym.local_rules, day, pages))


@lru_cache(maxsize=600)
def _rendered(page: str, token: str, athlete: str, gym: str, rules: str, day: date, pages: tuple[str, ...]) -> str:
    """A page made of frozen files; kept in memory by everything it is made of, so that it can never be stale."""
    sessions = [session for name in pages for session in json.loads(files.read(name))["sessions"]]
    sessions.sort(key=lambda session: session["date"])
    context = {**_shell(page, token, athlete, gym, rules), "today": day, "sessions": sessions}
    if page == "today":
        coming = [s for s in sessions if s["date"] >= day.isoformat()]
        shown = [s for s in coming if s["date"] == coming[0]["date"]]
        context |= {"sessions": shown, "is_today": bool(shown) and shown[0]["date"] == day.isoformat()}
    return render_to_string(f"sessions/phone_{page}.html", context)


def _shell(page: str, token: str, athlete: str, gym: str, local_rules: str) -> dict:
    return {
        "page": page,
        "token": token,
        "athlete_name": athlete,
        "gym_name": gym,
        "local_rules": local_rules,
        "caution": CAUTION,
    }


def _private(html: str) -> HttpResponse:
    response = HttpResponse(html)
    response["Cache-Control"] = "private, no-cache"
    return response


def _gone(request: HttpRequest) -> HttpResponse:
    return render(request, "sessions/link_gone.html", status=410)
