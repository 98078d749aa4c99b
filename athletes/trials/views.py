from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from athletes.gym.read import today
from athletes.models import Athlete, TestDay
from athletes.trials.forms import MoveForm, TestDayForm, WalkInForm, slots_packed, slots_unpacked
from athletes.trials.kept_out import kept_out
from athletes.trials.read import by_athlete, elsewhere_that_day, heats_of, lasts_min, slots_of, test_days_found
from athletes.trials.write import (
    test_day_add,
    test_day_move,
    test_day_plan,
    test_day_put_back,
    test_day_take_off,
)
from athletes.undo import done

PAGE = 30


def index(request: HttpRequest) -> HttpResponse:
    page = Paginator(test_days_found(), PAGE).get_page(request.GET.get("page"))
    return render(request, "trials/test_days.html", {"page": page, "today": today()})


def create(request: HttpRequest) -> HttpResponse:
    """Plan a test day; the retest list sends along what is ticked there."""
    sent = request.POST.getlist("pick") or request.GET.getlist("pick")
    picks = [pick for several in sent for pick in several.split(",")]  # a line of the retest list holds several
    form = TestDayForm(request.POST or None, picks=picks, coach=request.user.coaches)
    if request.method == "POST" and form.is_valid():
        try:
            day, left_out = test_day_plan(**form.plan(), by=request.user)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            if left_out:
                messages.warning(request, f"Left out: {', '.join(left_out)}.")
            if twice := elsewhere_that_day(day):
                names = ", ".join(map(str, twice))
                messages.warning(request, f"In another plan of that day too, look that the times fit: {names}.")
            messages.success(request, "The test day is planned.")
            return redirect("athletes:test-day", day.pk)
    return render(request, "trials/test_day_form.html", {"form": form})


def detail(request: HttpRequest, pk: int) -> HttpResponse:
    """The heats on a screen, and on paper."""
    test_day = get_object_or_404(TestDay, pk=pk)
    slots = slots_of(test_day)
    benchmarks = list({slot.benchmark_id: slot.benchmark for slot in slots}.values())
    context = {"test_day": test_day, "heats": heats_of(slots), "people": by_athlete(slots), "minutes": lasts_min(slots)}
    context["kept_out"] = kept_out(test_day) if test_day.date >= today() else []
    forms = {"walk_in": WalkInForm(chosen=benchmarks, coach=request.user.coaches), "move": MoveForm(test_day=test_day)}
    return render(request, "trials/test_day_heats.html", {**context, **forms, "today": today()})


@require_POST
def add(request: HttpRequest, pk: int) -> HttpResponse:
    """Someone who came unplanned."""
    test_day, form = get_object_or_404(TestDay, pk=pk), WalkInForm(request.POST, coach=request.user.coaches)
    if form.is_valid():
        try:
            left_out = test_day_add(test_day=test_day, **form.cleaned_data)
        except ValidationError as error:
            messages.error(request, " ".join(error.messages))
            return redirect("athletes:test-day", pk)
        if left_out:
            messages.warning(request, f"Left out: {', '.join(left_out)}.")
        messages.success(request, f"{form.cleaned_data['athlete']} is on the list, without a heat.")
    else:
        messages.error(request, "Nobody was added. Choose an athlete and at least one benchmark.")
    return redirect("athletes:test-day", pk)


@require_POST
def take_off(request: HttpRequest, pk: int, athlete: int) -> HttpResponse:
    """Someone who is not tested that day after all."""
    test_day, athlete = get_object_or_404(TestDay, pk=pk), get_object_or_404(Athlete, pk=athlete)
    try:
        slots = test_day_take_off(test_day=test_day, athlete=athlete)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return redirect("athletes:test-day", pk)
    if slots:
        undo = reverse("athletes:test-day-put-back", args=[pk])
        done(request, f"{athlete} is off the list.", undo, {"slots": slots_packed(test_day, slots)})
    return redirect("athletes:test-day", pk)


@require_POST
def put_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Undo of `take_off`, with what it packed."""
    test_day = get_object_or_404(TestDay, pk=pk)
    try:
        test_day_put_back(test_day=test_day, slots=slots_unpacked(test_day, request.POST.get("slots", "")))
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, "Back on the list.")
    return redirect("athletes:test-day", pk)


@require_POST
def move(request: HttpRequest, pk: int) -> HttpResponse:
    """Another date or first start; the heats go along."""
    test_day = get_object_or_404(TestDay, pk=pk)
    form = MoveForm(request.POST, test_day=test_day)
    try:
        if not form.is_valid():
            raise ValidationError("Choose a date, and a time such as 18:00.")
        test_day, _ = test_day_move(test_day=test_day, **form.move())
    except ValidationError as error:
        messages.error(request, f"The day was not moved. {' '.join(error.messages)}")
    else:
        messages.success(
            request, f"The day is {test_day.date:%A %-d %B} from {test_day.starts_at:%H:%M}, heats and all."
        )
    return redirect("athletes:test-day", pk)


@require_POST
def remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a plan off the list; results that were entered stay."""
    get_object_or_404(TestDay, pk=pk).delete()
    messages.success(request, "The plan is removed. Results that were entered stay with the athletes.")
    return redirect("athletes:test-days")
