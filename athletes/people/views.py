from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from athletes.efforts.contradictions import results_to_check
from athletes.efforts.forms import EffortForm
from athletes.efforts.read import RETEST_AFTER
from athletes.estimates.read import numbers_of
from athletes.gym.read import today
from athletes.links.addresses import phone_address
from athletes.links.read import athlete_link
from athletes.models import Athlete
from athletes.people.forms import AthleteForm
from athletes.people.read import SHOWN, athletes_found, overrides_on, untested_count, with_last_effort
from athletes.people.write import athlete_change, athlete_create

PAGE = 100


def index(request: HttpRequest) -> HttpResponse:
    """Who trains here, with each one's newest effort."""
    shown = request.GET.get("show", "active")
    shown = shown if shown in SHOWN else "active"
    query = request.GET.get("q", "").replace("\0", "").strip()
    page = Paginator(athletes_found(shown=shown, query=query), PAGE).get_page(request.GET.get("page"))
    with_last_effort(page.object_list)
    context = {"page": page, "shown": shown, "query": query, "untested": untested_count()}
    return render(request, "people/list.html", {**context, "retest_before": today() - RETEST_AFTER})


def create(request: HttpRequest) -> HttpResponse:
    form = AthleteForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        athlete = athlete_create(athlete=form.instance, by=request.user)
        messages.success(request, f"{athlete} is in. Add a first effort, or show the code for the phone.")
        return redirect("athletes:detail", athlete.pk)
    return render(request, "people/athlete_form.html", {"form": form})


def change(request: HttpRequest, pk: int) -> HttpResponse:
    athlete = get_object_or_404(Athlete, pk=pk)
    form = AthleteForm(request.POST or None, instance=athlete)
    if request.method == "POST" and form.is_valid():
        athlete_change(athlete=form.instance, by=request.user)
        messages.success(request, f"{athlete} is changed.")
        return redirect("athletes:detail", pk)
    # The form writes what was typed into its own row; the page goes on naming the athlete as kept.
    return render(request, "people/athlete_form.html", {"form": form, "athlete": Athlete.objects.get(pk=pk)})


def detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One athlete: efforts, what follows from them, limitations and the personal link."""
    athlete = get_object_or_404(Athlete, pk=pk)
    link, day = athlete_link(athlete), today()
    context = {
        "athlete": athlete,
        **numbers_of(athlete),
        "retest_before": day - RETEST_AFTER,
        "effort_form": EffortForm(initial={"performed_on": day}),
        "limitations": athlete.limitations.select_related("entered_by").prefetch_related("movements"),
        "overrides": overrides_on([pk], day).get(pk, []),
        "checks": results_to_check([pk], day),
        "today": day,
        "link": link,
        "address": phone_address(request, link) if link else "",
    }
    return render(request, "people/detail.html", context)
