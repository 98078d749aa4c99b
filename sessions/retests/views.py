from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from athletes.gym.read import today
from sessions.retests.by_test import SHOWN, by_test
from sessions.retests.propose import retest_list


def index(request: HttpRequest) -> HttpResponse:
    """Which test would change most of what is asked, of whom; from a line a test day is planned."""
    found, day = retest_list(request.gym, today()), today()
    shown, query = request.GET.get("show", "all"), request.GET.get("q", "").replace("\0", "").strip()
    shown = shown if shown in SHOWN else "all"
    tests = by_test(found.lines, today=day, shown=shown, query=query)
    context = {"found": found, "tests": tests, "shown": shown, "query": query, "filters": SHOWN.items()}
    return render(request, "retests/retests.html", context)
