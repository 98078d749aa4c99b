from datetime import date, timedelta
from uuid import uuid4

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from athletes.gym.read import today
from sessions.keys import sent_key
from sessions.models import PlannedSession
from sessions.weeks.forms import PlannedSessionForm, WeekForm
from sessions.weeks.read import monday_of, overview
from sessions.weeks.write import session_plan, week_copy, week_ensure, week_starting


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
    initial = {"hours": ", ".join(request.gym.class_times), "weekday": request.GET.get("weekday", 0)}
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
    planned = get_object_or_404(PlannedSession.objects.select_related("week", "circuit"), pk=pk)
    form = PlannedSessionForm(request.POST or None, instance=planned)
    if request.method == "POST" and form.is_valid():
        session_plan(planned=planned, hours=form.cleaned_data["hours"])
        messages.success(request, f"{planned.circuit} on {planned.date:%A} is changed. Publish to show it.")
        return redirect("sessions:week", planned.week.starts_on)
    context = {"form": form, "planned": planned, "monday": planned.week.starts_on, "week": planned.week}
    return render(request, "weeks/planned_form.html", context)


@require_POST
def planned_remove(request: HttpRequest, pk: int) -> HttpResponse:
    planned = get_object_or_404(PlannedSession.objects.select_related("week", "circuit"), pk=pk)
    planned.delete()
    messages.success(request, f"{planned.circuit} is off {planned.date:%A}. What is published stays until you publish.")
    return redirect("sessions:week", planned.week.starts_on)


@require_POST
def copy(request: HttpRequest, monday: date) -> HttpResponse:
    """Plan last week's sessions again."""
    source = week_starting(monday - timedelta(days=7))
    if not source.pk or not source.sessions.exists():
        messages.error(request, "Last week has no session to copy. Plan the first one by hand.")
        return redirect("sessions:week", monday)
    copied = week_copy(source=source, into=week_ensure(monday), key=sent_key(request))
    messages.success(request, f"{copied} sessions are copied from last week.")
    return redirect("sessions:week", monday)


def _week_page(request: HttpRequest, monday: date, form: WeekForm) -> HttpResponse:
    week = week_starting(monday)
    context = {
        "overview": overview(week, request.gym),
        "publications": week.publications.select_related("requested_by")[:20] if week.pk else [],
        "form": form,
        "key": uuid4(),
        "before": monday - timedelta(days=7),
        "after": monday + timedelta(days=7),
    }
    return render(request, "weeks/week.html", context)


def home(request: HttpRequest) -> HttpResponse:
    """This week and next: what people see now, and what is being written."""
    monday = monday_of(today())
    weeks = [overview(week_starting(start), request.gym) for start in (monday, monday + timedelta(days=7))]
    return render(request, "weeks/home.html", {"weeks": weeks, "today": today()})
