import json
from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from athletes.models import Athlete
from athletes.selectors.estimates import numbers_of
from athletes.selectors.gym import today as gym_today
from athletes.selectors.links import athlete_for_token
from sessions.boards import files
from sessions.boards.cards import CAUTION
from sessions.selectors.publications import page_names
from sessions.selectors.weeks import monday_of


def today(request: HttpRequest, token: str) -> HttpResponse:
    """Today's session of one athlete; on a free day the next one of the week."""
    athlete = athlete_for_token(token)
    if athlete is None:
        return _gone(request)
    day = gym_today()
    sessions = _sessions(athlete, day)
    coming = [s for s in sessions if s["date"] >= day.isoformat()]
    shown = [s for s in coming if s["date"] == coming[0]["date"]] if coming else []
    context = {"sessions": shown, "is_today": bool(shown) and shown[0]["date"] == day.isoformat()}
    return _page(request, "today", athlete, token, context)


def week(request: HttpRequest, token: str) -> HttpResponse:
    """All sessions of the athlete's week."""
    athlete = athlete_for_token(token)
    if athlete is None:
        return _gone(request)
    day = gym_today()
    return _page(request, "week", athlete, token, {"sessions": _sessions(athlete, day), "today": day})


def numbers(request: HttpRequest, token: str) -> HttpResponse:
    """The athlete's own benchmarks and what they say."""
    athlete = athlete_for_token(token)
    if athlete is None:
        return _gone(request)
    return _page(request, "numbers", athlete, token, numbers_of(athlete))


def _sessions(athlete: Athlete, day: date) -> list[dict]:
    """The athlete's published sessions of this week and the next, by day."""
    monday = monday_of(day)
    names = page_names(athlete, [monday, monday + timedelta(days=7)])
    return [session for name in names for session in json.loads(files.read(name))["sessions"]]


def _page(request: HttpRequest, page: str, athlete: Athlete, token: str, context: dict) -> HttpResponse:
    shell = {"page": page, "athlete": athlete, "token": token, "gym": request.gym, "caution": CAUTION}
    response = render(request, f"sessions/phone_{page}.html", {**shell, **context})
    response["Cache-Control"] = "private, no-cache"
    return response


def _gone(request: HttpRequest) -> HttpResponse:
    return render(request, "sessions/link_gone.html", status=410)
