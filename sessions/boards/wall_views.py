from zlib import crc32

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.utils import timezone

from athletes.links.read import is_screen_token
from sessions.boards import files
from sessions.weeks.published import next_session
from sessions.words.cards import CAUTION


def screen(request: HttpRequest, token: str) -> HttpResponse:
    """The wall: the class that runs, or else the board of the session that comes next; it asks again by itself."""
    if not is_screen_token(token):
        return render(request, "phone/link_gone.html", {"screen": True}, status=410)
    session = next_session(timezone.localtime())
    page = files.read(session.wall_page).decode() if session else ""
    # Another board, or other scripts after an upgrade: the page on the wall compares, and loads itself again.
    scripts = (static("sessions/clock/live.js"), static("sessions/clock/live.css"))
    made_of = (session and session.wall_page, request.gym.name, *scripts)
    tag = f"{crc32(repr(made_of).encode()):x}"
    context = {"board": page, "session": session, "token": token, "caution": CAUTION, "tag": tag}
    response = render(request, "boards/wall.html", context)
    response["Cache-Control"] = "private, no-cache"
    response["Board"] = tag
    return response
