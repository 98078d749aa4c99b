from datetime import date, timedelta
from uuid import UUID, uuid4

from django.contrib import messages
from django.core.exceptions import BadRequest, ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from athletes.gym.read import today
from athletes.undo import done
from sessions.circuits.library import library
from sessions.classes.forms import PartsForm
from sessions.classes.read import with_parts
from sessions.classes.views import hour_of, press
from sessions.keys import sent_key
from sessions.models import PlannedSession
from sessions.weeks.forms import PlannedSessionForm, WeekForm
from sessions.weeks.published import live_publication
from sessions.weeks.read import day_of_calendar, monday_of, overview, planned_sessions
from sessions.weeks.write import (
    Copied,
    class_plan,
    series_plan,
    session_move,
    session_plan,
    sessions_copy,
    sessions_put_back,
    sessions_take_off,
    week_ensure,
    week_starting,
)


def week(request: HttpRequest, monday: date) -> HttpResponse:
    """A week as the coach writes it, with everything that was published of it."""
    week = week_starting(monday)
    form = WeekForm(request.POST or None, instance=week)
    if request.method == "POST" and form.is_valid():
        week_ensure(monday)
        form.instance = week_starting(monday)
        form.instance.note = form.cleaned_data["note"]
        form.instance.save()
        messages.success(request, "The line for the week is saved. Publish to show it.")
        return redirect("sessions:week", monday)
    return _week_page(request, monday, form=form)


def planned_create(request: HttpRequest, monday: date) -> HttpResponse:
    """Put a circuit on a day."""
    key = sent_key(request)
    planned = PlannedSession(key=key)
    initial = {
        "hours": ", ".join(request.gym.class_times),
        "weekday": request.GET.get("weekday", 0),
        "circuit": request.GET.get("circuit", ""),
    }
    form = PlannedSessionForm(request.POST or None, instance=planned, initial=initial)
    if request.method == "POST" and form.is_valid():
        planned.week = week_ensure(monday)
        try:
            planned = session_plan(planned=planned, hours=form.cleaned_data["hours"])
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, f"{planned.circuit} is planned for {planned.date:%A}.")
            return redirect("sessions:week", monday)
    context = {"form": form, "key": key, "monday": monday, "week": week_starting(monday)}
    return render(request, "weeks/planned_form.html", context)


def planned_change(request: HttpRequest, pk: int) -> HttpResponse:
    """A session and the parts of its class; buttons that change the parts save nothing but a template."""
    sessions = PlannedSession.objects.standing().select_related("week", "circuit").prefetch_related("circuit__stations")
    planned = get_object_or_404(with_parts(sessions), pk=pk)
    form = PlannedSessionForm(request.POST or None, instance=planned)
    parts = PartsForm(planned.circuit, request.POST or None, planned)
    do = request.POST.get("do", "")
    if do:
        press(request, parts, do)
    elif request.method == "POST" and form.is_valid() & parts.is_valid():
        try:
            hours, scope = form.cleaned_data["hours"], form.cleaned_data.get("scope", "")
            class_plan(planned=planned, hours=hours, parts=parts.parts() if "parts" in request.POST else None)
            followed = series_plan(planned=planned, scope=scope, changed=form.changed_data, hours=hours, day=today())
        except ValidationError as error:
            form.add_error(None, error)
        else:
            too = f" {followed} more of its build follow." if followed else ""
            messages.success(request, f"{planned.circuit} on {planned.date:%A} is changed.{too} Publish to show it.")
            return redirect("sessions:week", planned.week.starts_on)
    context = {"form": form, "planned": planned, "monday": planned.week.starts_on, "week": planned.week}
    context |= {"parts": parts, **hour_of(parts, request.gym, planned)}
    return render(request, "weeks/class_form.html", context)


@require_POST
def planned_move(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a session on another day; the message has the way back."""
    planned = get_object_or_404(PlannedSession.objects.standing().select_related("week", "circuit"), pk=pk)
    shown, before = planned.week.starts_on, planned.date
    try:
        day = day_of_calendar(request.POST.get("day", ""))
        session_move(planned=planned, day=day)
    except ValueError:
        messages.error(request, "Say the day to move it to, like 2026-12-01.")
        return redirect("sessions:week", shown)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return redirect("sessions:week", shown)
    if day != before:
        undo = reverse("sessions:planned-move", args=[pk])
        done(request, f"{planned.circuit} is on {day:%A %d %b} now.", undo, {"day": before.isoformat()})
    return redirect(f"{reverse('sessions:week', args=[planned.week.starts_on])}#session-{pk}")


@require_POST
def planned_take_off(request: HttpRequest) -> HttpResponse:
    """Take the sessions with these keys off their week; the message has the way back."""
    keys, monday = _sent(request)
    taken = sessions_take_off(keys)
    if taken:
        stays = " What is published stays until you publish." if live_publication(week_starting(monday)) else ""
        words = f"{_sessions(taken)} off the week.{stays}"
        done(request, words, reverse("sessions:planned-put-back"), {"session": keys, "week": monday})
    return redirect("sessions:week", monday)


@require_POST
def planned_put_back(request: HttpRequest) -> HttpResponse:
    keys, monday = _sent(request)
    back = sessions_put_back(keys)
    if back:
        words = f"{_sessions(back)} back in the week."
        done(request, words, reverse("sessions:planned-take-off"), {"session": keys, "week": monday})
    return redirect("sessions:week", monday)


@require_POST
def copy(request: HttpRequest) -> HttpResponse:
    """Copy the ticked sessions into a week, filled or not; the message has the way back."""
    keys, monday = _sent(request)
    originals = PlannedSession.objects.standing().filter(key__in=keys).select_related("week").prefetch_related("hours")
    if not originals:
        messages.error(request, "Tick the sessions to copy, then say into which week.")
        return redirect("sessions:week", monday)
    try:
        into = monday_of(day_of_calendar(request.POST.get("into", "")))
    except ValueError:
        messages.error(request, "Say a day of the week to copy into, like 2026-12-07.")
        return redirect("sessions:week", monday)
    along = Copied(hours="hours" in request.POST, notes="notes" in request.POST, by_hand="by_hand" in request.POST)
    copied = sessions_copy(originals=originals, into=week_ensure(into), key=sent_key(request), along=along)
    if copied:
        words = f"{_sessions(len(copied))} copied into week {into:%V}."
        made = {"session": [session.key for session in copied], "week": into}
        done(request, words, reverse("sessions:planned-take-off"), made)
    return redirect("sessions:week", into)


def _sent(request: HttpRequest) -> tuple[list[UUID], date]:
    """Keys of sessions, and the Monday of the week that is shown next; this week where it is not said."""
    keys = []
    for text in request.POST.getlist("session"):
        try:
            keys.append(UUID(text))
        except ValueError:
            raise BadRequest("That is no session of this gym. Open the week again.") from None
    try:
        day = day_of_calendar(request.POST.get("week", ""))
    except ValueError:
        day = today()
    return keys, monday_of(day)


def _sessions(count: int) -> str:
    return "1 session is" if count == 1 else f"{count} sessions are"


def library_rows(request: HttpRequest, monday: date) -> HttpResponse:
    """The circuits that fit what is typed, to put into this week."""
    context = {"found": library(request.GET.get("find", "")), "monday": monday}
    return render(request, "circuits/_library.html", context)


def _week_page(request: HttpRequest, monday: date, form: WeekForm) -> HttpResponse:
    week = week_starting(monday)
    context = {
        "overview": overview(week, request.gym),
        "publications": week.publications.select_related("requested_by")[:20] if week.pk else [],
        "form": form,
        "key": uuid4(),
        "today": today(),
        "monday": monday,
        "into": monday + timedelta(days=7),
        "last_week": planned_sessions(week_starting(monday - timedelta(days=7))),
        "find": request.GET.get("find", ""),
        "found": library(request.GET.get("find", "")),
        "before": monday - timedelta(days=7),
        "after": monday + timedelta(days=7),
    }
    return render(request, "weeks/week.html", context)


def this_week(request: HttpRequest) -> HttpResponse:
    return redirect("sessions:week", monday_of(today()))


def home(request: HttpRequest) -> HttpResponse:
    """This week and next: what people see now, and what is being written."""
    monday = monday_of(today())
    weeks = [overview(week_starting(start), request.gym) for start in (monday, monday + timedelta(days=7))]
    return render(request, "weeks/home.html", {"weeks": weeks, "today": today(), "now": timezone.localtime()})
