from datetime import timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from athletes.selectors.gym import today
from sessions.selectors.weeks import monday_of, overview
from sessions.services.weeks import week_starting


def home(request: HttpRequest) -> HttpResponse:
    """This week and next: what people see now, and what is being written."""
    monday = monday_of(today())
    weeks = [overview(week_starting(start), request.gym) for start in (monday, monday + timedelta(days=7))]
    return render(request, "sessions/home.html", {"weeks": weeks, "today": today()})
