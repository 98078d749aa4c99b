from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from athletes.selectors.links import is_screen_token
from sessions.boards import files
from sessions.selectors.publications import next_session


def screen(request: HttpRequest, token: str) -> HttpResponse:
    """The board for the wall: the session that runs or comes next; the page asks again by itself."""
    if not is_screen_token(token):
        return render(request, "sessions/link_gone.html", {"screen": True}, status=410)
    session = next_session(timezone.localtime())
    page = files.read(session.wall_page).decode() if session else ""
    response = render(request, "sessions/wall.html", {"board": page, "session": session})
    response["Cache-Control"] = "private, no-cache"
    return response
