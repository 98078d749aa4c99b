from datetime import date
from uuid import UUID

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from athletes.gym.read import today
from athletes.links.read import athlete_for_calendar
from sessions.boards.phone import head
from sessions.calendar.feed import feed
from sessions.calendar.read import class_hours, sessions_of
from sessions.models import PublishedSession
from sessions.words.cards import CAUTION


def calendar(request: HttpRequest, token: str) -> HttpResponse:
    """An athlete's sessions for any calendar program; the address is the key, and opens nothing else."""
    athlete = athlete_for_calendar(token)
    if athlete is None:
        return HttpResponse(
            "This link no longer works. Ask staff for a new one.", status=410, content_type="text/plain"
        )
    sessions = sessions_of(athlete, today())
    hours = class_hours(athlete, [session for session, _ in sessions])
    found = feed(request.gym.name, request.gym.zone, sessions, settings.SITE_URL, hours)
    response = HttpResponse(found, content_type="text/calendar; charset=utf-8")
    response["Content-Disposition"] = 'inline; filename="my-sessions.ics"'
    response["Cache-Control"] = "private, max-age=300"
    return response


def class_page(request: HttpRequest, key: UUID, day: date) -> HttpResponse:
    """A session as it is written, for anyone with the address: no names and nobody's numbers."""
    session = PublishedSession.objects.as_seen(key, day)
    if session is None:
        raise Http404("No such class.")
    context = {"session": session, "head": head(session), "caution": CAUTION, "circuit": session.definition}
    return render(request, "calendar/class_page.html", context)
