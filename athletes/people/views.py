from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from athletes.audit.keeping import entry_about, nothing_happened
from athletes.efforts.contradictions import results_to_check
from athletes.efforts.forms import EffortForm
from athletes.efforts.read import RETEST_AFTER
from athletes.estimates.read import numbers_of
from athletes.gym.read import today
from athletes.links.addresses import phone_address
from athletes.links.read import athlete_link
from athletes.models import Athlete, Merge
from athletes.people.doubles import alike, doubles
from athletes.people.forms import AthleteForm, MergeForm, NewAthleteForm
from athletes.people.merge import athletes_merge, counts_of, merge_to_undo, merge_undo
from athletes.people.read import SHOWN, SORTED, athletes_found, overrides_on, untested_count, with_last_effort
from athletes.people.write import athlete_change, athlete_create

PAGE = 100


def index(request: HttpRequest) -> HttpResponse:
    """Who trains here, with each one's newest effort."""
    shown = request.GET.get("show", "active")
    shown = shown if shown in SHOWN else "active"
    query = request.GET.get("q", "").replace("\0", "").strip()
    sort, down = request.GET.get("sort", "name"), request.GET.get("down") == "1"
    sort = sort if sort in SORTED else "name"
    found = athletes_found(shown=shown, query=query, sort=sort, down=down)
    page = Paginator(found, PAGE).get_page(request.GET.get("page"))
    context = {"page": page, "athletes": with_last_effort(page.object_list), "shown": shown, "query": query}
    context |= {"sort": sort, "down": down, "retest_before": today() - RETEST_AFTER}
    if request.headers.get("HX-Target") == "found":  # as someone types
        return render(request, "people/_list.html", context)
    return render(request, "people/list.html", {**context, "untested": untested_count()})


def create(request: HttpRequest) -> HttpResponse:
    form = NewAthleteForm(request.POST or None)
    athlete = form.kept() if form.is_bound else None
    if form.is_bound and not athlete and form.is_valid() and not form.doubles():
        try:
            athlete = athlete_create(athlete=form.instance, by=request.user)
        except ValidationError as error:  # somebody added them, or somebody of that board name, at this very moment
            athlete = form.kept()
            form.add_error(None, error)
    if athlete:
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
        "address": phone_address(link) if link else "",
        "merge": merge_to_undo(athlete),
        "alike": alike(athlete.name, leave_out=[pk]),
    }
    return render(request, "people/detail.html", context)


def pairs(request: HttpRequest) -> HttpResponse:
    """Who may be one and the same."""
    return render(request, "people/doubles.html", {"pairs": doubles()})


def merge(request: HttpRequest, pk: int) -> HttpResponse:
    """Someone turns out to be another who is here: side by side, then one."""
    keep = get_object_or_404(Athlete, pk=pk)
    form = MergeForm(request.POST or None, keep=keep, initial={"gone": request.GET.get("gone")})
    if request.method == "POST" and form.is_valid():
        gone = form.cleaned_data["gone"]
        try:
            athletes_merge(keep=keep, gone=gone, by=request.user)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, f"{gone} is now {keep}. This can be undone for a day.")
            return redirect("athletes:detail", pk)
    both = [keep, *filter(None, [form.chosen()])]
    counts = counts_of(both)
    context = {"athlete": keep, "form": form, "both": [(athlete, counts[athlete.pk]) for athlete in both]}
    context["other"] = both[1] if len(both) > 1 else None
    return render(request, "people/merge.html", context)


@require_POST
def unmerge(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Merge.objects.select_related("gone"), pk=pk)
    try:
        merge_undo(merge=found, by=request.user)
    except ValidationError as error:
        nothing_happened(request)
        messages.error(request, " ".join(error.messages))
    else:
        entry_about(request, found.keep_id)
        messages.success(request, f"{found.gone} is an athlete again, with everything that was theirs.")
    return redirect("athletes:detail", found.keep_id)
