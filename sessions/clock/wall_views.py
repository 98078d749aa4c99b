from zlib import crc32

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.templatetags.static import static
from django.utils import timezone

from athletes.links.read import is_screen_token
from sessions.clock.live import wall_before
from sessions.models import PublishedSession
from sessions.weeks.published import next_class, starts_of
from sessions.words.cards import CAUTION

BOARDS = ("wall.js", "columns.js", "wall.css", "roster.css")
CLOCK = ("clock.js", "follow.js", "signals.js")
SCRIPTS = (*(f"sessions/boards/{name}" for name in BOARDS), *(f"sessions/clock/{name}" for name in CLOCK))


def screen(request: HttpRequest, token: str) -> HttpResponse:
    """The wall: the class that runs, or else the one that comes next; the page follows by itself."""
    if not is_screen_token(token):
        return render(request, "phone/link_gone.html", {"screen": True}, status=410)
    session, starts = next_class(timezone.localtime())
    plan = wall_before(session, starts) if session and starts else None
    # Other scripts after an upgrade, another name or other rules: the page compares, and loads itself again.
    made_of = (request.gym.name, request.gym.local_rules, *map(static, SCRIPTS))
    tag = f"{crc32(repr(made_of).encode()):x}"
    context = {"plan": plan, "token": token, "caution": CAUTION, "tag": tag}
    response = render(request, "boards/wall.html", context)
    response["Cache-Control"] = "private, no-cache"
    response["Board"] = tag
    return response


def page(request: HttpRequest, pk: int) -> HttpResponse:
    """What the wall shows of one published session before its class, for staff to look at."""
    session = get_object_or_404(PublishedSession.objects.select_related("publication"), pk=pk)
    hour = request.GET.get("hour", "")
    plan = wall_before(session, starts_of(session, hour if hour in session.hours else ""))
    return render(request, "boards/wall.html", {"plan": plan, "caution": CAUTION})
