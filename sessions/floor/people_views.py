from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from athletes.models import Athlete
from sessions.clock.classes import class_time
from sessions.floor.forms import FloorLogForm, WalkInForm
from sessions.floor.logs import floor_log_write, rounds_made
from sessions.floor.read import without_targets
from sessions.floor.views import found
from sessions.floor.walk_ins import walk_in_add, walk_in_new
from sessions.keys import sent_key
from sessions.logs.read import standing_log
from sessions.models import PublishedSession


def walk_in(request: HttpRequest, pk: int) -> HttpResponse:
    """Somebody who is not on the sheet: an athlete without targets in this session, or somebody new."""
    session, key = found(pk), sent_key(request)
    hour = _hour(request, session)
    form = WalkInForm(request.POST or None, instance=Athlete.objects.filter(key=key).first())
    if request.method == "POST" and form.is_valid():
        try:
            athlete = walk_in_new(session=session, hour=hour, key=key, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            return _back(request, session, hour, f"{athlete} is in the class, with careful targets.")
    context = {"session": session, "hour": hour, "form": form, "key": key, "athletes": without_targets(session)}
    return render(request, "floor/floor_walk_in.html", context)


@require_POST
def walk_in_known(request: HttpRequest, pk: int, athlete: int) -> HttpResponse:
    """Add an active athlete who is without targets in this session."""
    session, athlete = found(pk), get_object_or_404(Athlete, pk=athlete)
    hour = _hour(request, session)
    try:
        walk_in_add(session=session, hour=hour, athlete=athlete, by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return HttpResponseRedirect(_address("sessions:floor-walk-in", session, hour))
    return _back(request, session, hour, f"{athlete} is in the class.")


def log(request: HttpRequest, pk: int, athlete: int) -> HttpResponse:
    """Log a session for an athlete with everything in it, or correct what is logged."""
    session, athlete = found(pk), get_object_or_404(Athlete, pk=athlete)
    hour = _hour(request, session)
    standing = standing_log(athlete.pk, session.key, session.date)
    form = FloorLogForm(
        request.POST or None,
        circuit=session.definition,
        targets=list(session.targets.filter(athlete=athlete).order_by("station")),
        log=standing,
        rounds=rounds_made(session, hour, athlete),
    )
    if request.method == "POST" and form.is_valid():
        content = {**form.content(), "key": form.cleaned_data["key"], "done_at": timezone.now()}
        try:
            floor_log_write(session=session, athlete=athlete, content=content, by=request.user)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            return _back(request, session, hour, f"The log of {athlete} is kept.")
    context = {"session": session, "hour": hour, "athlete": athlete, "form": form, "standing": standing}
    return render(request, "floor/floor_log.html", context)


def _hour(request: HttpRequest, session: PublishedSession) -> str:
    return class_time(session, request.GET.get("hour", ""), timezone.localtime())


def _back(request: HttpRequest, session: PublishedSession, hour: str, message: str) -> HttpResponse:
    messages.success(request, message)
    return HttpResponseRedirect(_address("sessions:floor", session, hour))


def _address(name: str, session: PublishedSession, hour: str) -> str:
    return f"{reverse(name, args=[session.pk])}?hour={hour}"
