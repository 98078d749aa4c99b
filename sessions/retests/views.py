from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from athletes.gym.read import today
from sessions.retests.propose import retest_list

MOST = 60
FIRST = 16  # shown and ticked to begin with: about what half an hour and a few machines allow


def index(request: HttpRequest) -> HttpResponse:
    """Who to test on what; what is ticked goes on to the plan of a test day."""
    found = retest_list(request.gym, today())
    context = {"found": found, "first": found.lines[:FIRST], "others": found.lines[FIRST:MOST]}
    return render(request, "retests/retests.html", context)
