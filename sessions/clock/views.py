import json
from dataclasses import asdict, replace
from zlib import crc32

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_POST, require_safe

from athletes.fields import from_json
from athletes.models import Athlete
from sessions.clock import read as clock
from sessions.clock.classes import TodaysClass, class_time, classes_of_day, live_session_of
from sessions.clock.forms import PressesSerializer
from sessions.clock.live import own_hour, parts_named, phone_plan, wall_before, wall_plan
from sessions.clock.write import now_ms, presses_take
from sessions.models import PublishedSession
from sessions.weeks.published import class_of, next_class, next_of_athlete
from sessions.words.cards import CAUTION

NOW_HEADER = "Clock-Now"  # the server's time [ms since 1970]; a header, so that a 304 carries it too


def control(request: HttpRequest, pk: int) -> HttpResponse:
    """The page that runs the clock of one class; it works by script, see static/sessions/clock/control.js."""
    session = class_of(get_object_or_404(PublishedSession, pk=pk))
    hour = class_time(session, request.GET.get("hour", ""), timezone.localtime())
    live = live_session_of(session)
    if live.pk != pk:
        return redirect(f"{reverse('sessions:clock', args=[live.pk])}?hour={hour}")
    context = {
        "session": session,
        "hour": hour,
        "is_today": session.date == timezone.localdate(),
        "others": [one.hour for one in classes_of_day(session.date, now_ms()) if _is_other(one, session, hour)],
        "shape": json.dumps(asdict(clock.shape_of_class(session))),
        "parts": json.dumps(parts_named(session)),
        "now_ms": now_ms(),
        "caution": CAUTION,
    }
    return render(request, "clock/clock.html", context)


def _is_other(one: TodaysClass, session: PublishedSession, hour: str) -> bool:
    return one.runs and (one.session.pk, one.hour) != (session.pk, hour)


@require_safe
def state(request: HttpRequest, pk: int) -> HttpResponse:
    """What the clock's page and the floor sheet ask for again and again."""
    return _state(request, clock.class_at(pk, request.GET.get("hour", "")))


@require_POST
def send(request: HttpRequest, pk: int) -> HttpResponse:
    """Presses, each kept once however often it comes; answers with the state and what was refused, and why."""
    session = get_object_or_404(PublishedSession, pk=pk)
    form = PressesSerializer(data=_document(request.body))
    if not form.is_valid():
        return JsonResponse({"error": "These presses cannot be read. Reload the page."}, status=422)
    refused = presses_take(session=session, by=request.user, **form.validated_data)
    now = clock.class_at(pk, form.validated_data["hour"])
    return _stamped(JsonResponse({**now.state(), "refused": refused}))


@require_safe
def on_wall(request: HttpRequest, token: str) -> HttpResponse:
    now = clock.class_on_screen(token, now_ms(), timezone.localdate())
    return _state(request, now) if now else HttpResponse(status=410)


@require_safe
def on_phone(request: HttpRequest, token: str) -> HttpResponse:
    now = clock.class_of_athlete(token, now_ms(), timezone.localdate())
    return _state(request, now) if now else HttpResponse(status=410)


@require_safe
def plan_on_wall(request: HttpRequest, token: str) -> HttpResponse:
    """Who begins where, with all doses: of the class that runs, or else of the one that comes next."""
    now = clock.class_on_screen(token, now_ms(), timezone.localdate())
    if now is None:
        return HttpResponse(status=410)
    if "next" in request.GET:  # the wall has shown for long enough that the class is over
        now = replace(now, running=None)
    if now.running:
        return _plan(request, now, wall_plan(clock.session_with_doses(now.running), now.running.hour))
    session, starts = next_class(timezone.localtime())
    return _plan(request, now, wall_before(session, starts) if session and starts else None)


@require_safe
def plan_on_phone(request: HttpRequest, token: str) -> HttpResponse:
    """Where one athlete begins, and their doses: of the class that runs, or else of today's next one of theirs."""
    now = clock.class_of_athlete(token, now_ms(), timezone.localdate())
    if now is None:
        return HttpResponse(status=410)
    athlete = Athlete.objects.get(pk=now.athlete)
    if now.running:
        return _plan(request, now, phone_plan(clock.session_with_doses(now.running), now.running.hour, athlete))
    session = next_of_athlete(athlete, timezone.localtime())
    return _plan(request, now, session and phone_plan(session, own_hour(session, athlete), athlete))


def _state(request: HttpRequest, now: clock.Now) -> HttpResponse:
    known = get_conditional_response(request, etag=now.tag)
    return _stamped(known or JsonResponse(now.state()), now.tag)


def _plan(request: HttpRequest, now: clock.Now, plan: dict | None) -> HttpResponse:
    """`of` and `seen` say which run and version this is of: a screen shows it with no other run, and asks again until
    it has the version that it follows.
    """
    of = f"{now.running.key} {now.running.plan}" if now.running else ""
    response = JsonResponse({"plan": plan, "of": of, "seen": str(now.seen)})
    tag = f'"{crc32(response.content):x}"'
    return _stamped(get_conditional_response(request, etag=tag) or response, tag)


def _stamped(response: HttpResponse, tag: str = "") -> HttpResponse:
    if tag:
        response["ETag"] = tag
    response["Cache-Control"] = "private, no-cache"
    response[NOW_HEADER] = str(now_ms())
    return response


def _document(body: bytes):
    try:
        return from_json(body)
    except ValueError:
        return None
