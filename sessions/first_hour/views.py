"""The first hour: five plain pages from an empty gym to a published week."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from athletes.benchmarks.starter import starter_load, starter_size
from athletes.equipment.starter import RACKS, machine_counts, machines_count
from athletes.gym.forms import BeginningForm
from athletes.gym.read import gym as this_gym
from athletes.gym.read import today
from athletes.models import Account, Movement, TestDay
from athletes.movements.write import starter_missing
from sessions.first_hour.forms import CountsForm, PeopleForm, TestDayForm, WeekForm
from sessions.first_hour.people import list_keep, list_read
from sessions.first_hour.steps import is_empty, sessions_ahead, steps
from sessions.first_hour.typed import typed_list, typed_list_keep
from sessions.first_hour.unknown import (
    evening,
    free_day,
    known_of,
    shortest_test_day,
    shortest_test_day_plan,
    weeks_ahead,
)
from sessions.first_hour.week import choices, days_to_plan, sessions_begin
from sessions.publishing.draft import CannotScale
from sessions.weeks import views as weeks
from sessions.weeks.published import live_publication, running_publication


def home(request: HttpRequest) -> HttpResponse:
    """Today; a gym with nobody and nothing in it opens on the first hour, for whoever may begin it."""
    if not request.gym.first_hour_over and request.user.role != Account.Role.STAFF and is_empty():
        return redirect("sessions:first-hour")
    return weeks.home(request)


def begin(request: HttpRequest) -> HttpResponse:
    """The first step that is not done, or the last."""
    found = steps(request.gym, today())
    step = next((step for step in found if not step.done), found[-1])
    return redirect(f"sessions:first-hour-{step.page}")


def gym(request: HttpRequest) -> HttpResponse:
    """Step 1. The owner's to say; coaches see what is said."""
    form = BeginningForm(request.POST or None, instance=this_gym())
    if request.method == "POST" and form.is_valid():
        form.save()
        return redirect("sessions:first-hour-people")
    return _page(request, "gym", {"form": form})


def people(request: HttpRequest) -> HttpResponse:
    """Step 2: the list, and how it is read; nothing is saved before the button."""
    typed = typed_list(request.session)
    form = PeopleForm(request.POST or None, today=today(), initial={"text": typed})
    taken = None
    if request.method == "POST" and form.is_valid():
        text, day = form.cleaned_data["text"], form.cleaned_data["day"]
        if "save" in request.POST:
            return _people_saved(request, text, day)
        typed_list_keep(request.session, text)
        taken = list_read(text=text, day=day, by=request.user) if text.strip() else None
    elif request.method == "GET" and typed.strip():
        taken = list_read(text=typed, day=today(), by=request.user)
    return _page(request, "people", {"form": form, "taken": taken})


def _people_saved(request: HttpRequest, text: str, day) -> HttpResponse:
    taken = list_keep(text=text, day=day, by=request.user)
    typed_list_keep(request.session, "")
    if taken.lines:
        words = f"{taken.newcomers} added, {taken.results} result{'' if taken.results == 1 else 's'} kept."
        unread = sum(bool(line.problems) for line in taken.lines if line.name)
        if unread:
            words += f" What was not understood stands in the note of {unread}: what hurts belongs under Limitations."
        messages.success(request, words)
        for line in taken.lines:
            for why in line.refused:
                messages.warning(request, f"{line.name}: {why} It is left out.")
    return redirect("sessions:first-hour-room")


@require_POST
def people_reading(request: HttpRequest) -> HttpResponse:
    """How the list is read while it is typed; the list is kept for a day, for whoever comes back."""
    form = PeopleForm(request.POST, today=today())
    if not form.is_valid():
        return render(request, "first_hour/_people.html", {"form": form})
    text = form.cleaned_data["text"]
    typed_list_keep(request.session, text)
    taken = list_read(text=text, day=form.cleaned_data["day"], by=request.user) if text.strip() else None
    return render(request, "first_hour/_people.html", {"form": form, "taken": taken})


def room(request: HttpRequest) -> HttpResponse:
    """Step 3: machines counted, and the starter library in the same press."""
    may_count = request.user.role == Account.Role.OWNER
    missing = len(starter_missing())
    initial = {"library": missing == starter_size()}
    form = CountsForm(request.POST or None, counts=machine_counts(), initial=initial)
    if request.method == "POST" and form.is_valid():
        more, less = request.POST.get("more", ""), request.POST.get("less", "")
        if not (more or less):
            return _room_saved(request, form, may_count)
        form = form.moved(more, less)
    context = {"form": form, "may_count": may_count, "missing": missing, "size": starter_size(), "racks": list(RACKS)}
    return _page(request, "room", {**context, "movements": Movement.objects.filter(archived=False).count()})


def _room_saved(request: HttpRequest, form: CountsForm, may_count: bool) -> HttpResponse:
    if form.cleaned_data["library"]:
        loaded = starter_load()
        messages.success(
            request, f"{loaded.movements} movements and {loaded.benchmarks} benchmarks are ready. All can be changed."
        )
    if may_count:
        machines_count(form.counts())
    return redirect("sessions:first-hour-week")


def week(request: HttpRequest) -> HttpResponse:
    """Step 4: circuits on days; below, once there are some, what is not known yet and a short test day."""
    day = today()
    initial = {"hours": ", ".join(request.gym.class_times)}
    form = WeekForm(request.POST or None, choices=choices(request.gym, day), days=days_to_plan(day), initial=initial)
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        try:
            made = sessions_begin(wanted=form.wanted(), hours=said["hours"], by=request.user, key=said["key"])
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, f"{len(made)} session{'' if len(made) == 1 else 's'} in the week, as a draft.")
            return redirect("sessions:first-hour-unknown")
    planned = sessions_ahead(day).select_related("week", "circuit").order_by("week__starts_on", "weekday")
    library = bool(starter_missing()) and not any(choice.offer.fits for choice in form.choices)
    return _page(request, "week", {"form": form, "planned": planned, "library": library})


def unknown(request: HttpRequest) -> HttpResponse:
    """The second half of step 4: who goes by feel at first, and what one test day would change."""
    day = today()
    context: dict = {"test_days": TestDay.objects.filter(date__gte=day).order_by("date")}
    try:
        context["known"] = known_of(weeks_ahead(day), request.gym)
    except CannotScale as error:
        context["problem"] = str(error)
    offer = context["offer"] = shortest_test_day(request.gym, day)
    initial = {"date": free_day(day), "starts_at": evening(request.gym)}
    form = context["form"] = TestDayForm(request.POST or None, today=day, initial=initial)
    if request.method == "POST" and offer and form.is_valid():
        said = form.cleaned_data
        try:
            planned, left_out = shortest_test_day_plan(
                offer=offer, on=said["date"], at=said["starts_at"], by=request.user, key=said["key"]
            )
        except ValidationError as error:
            form.add_error(None, error)
        else:
            out = f" Left out: {', '.join(left_out)}." if left_out else ""
            messages.success(request, f"The test day stands on {planned.date:%A %d %B}.{out}")
            return redirect("sessions:first-hour-publish")
    return _page(request, "unknown", context, step="week")


def publish(request: HttpRequest) -> HttpResponse:
    """Step 5: each week that is written with its way to the review, and then the codes."""
    weeks = [(week, live_publication(week), running_publication(week)) for week in weeks_ahead(today())]
    return _page(request, "publish", {"weeks": weeks})


@require_POST
def leave(request: HttpRequest) -> HttpResponse:
    """Leave the way out for now, or take it up again."""
    gym = this_gym()
    if gym._state.adding and request.user.role != Account.Role.OWNER:
        raise PermissionDenied
    gym.first_hour_over = "restore" not in request.POST
    gym.save()
    if not gym.first_hour_over:
        return redirect("sessions:first-hour")
    messages.success(request, "Left out. The first hour stays under Gym.")
    return redirect("home")


def _page(request: HttpRequest, page: str, context: dict, step: str = "") -> HttpResponse:
    found = steps(this_gym(), today())
    here = next(one for one in found if one.page == (step or page))
    form = context.get("form")
    status = 422 if form is not None and form.is_bound and form.errors else 200
    return render(request, f"first_hour/{page}.html", {"steps": found, "here": here, **context}, status=status)
