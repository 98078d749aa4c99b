from datetime import timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from athletes.selectors.gym import today
from athletes.selectors.links import is_screen_token
from sessions.boards import files
from sessions.selectors.publications import live_sessions

LOOK_AHEAD = timedelta(days=7)


def screen(request: HttpRequest, token: str) -> HttpResponse:
    """The board for the wall: today's session, or else the next one; the page asks again by itself."""
    if not is_screen_token(token):
        return render(request, "sessions/link_gone.html", {"screen": True}, status=410)
    day = today()
    session = live_sessions(day, day + LOOK_AHEAD).exclude(wall_page="").order_by("date", "pk").first()
    page = files.read(session.wall_page).decode() if session else ""
    response = render(request, "sessions/wall.html", {"board": page, "session": session, "today": day})
    response["Cache-Control"] = "private, no-cache"
    return response
