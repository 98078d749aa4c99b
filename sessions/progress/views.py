from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.text import slugify

from athletes.gym.read import today
from athletes.models import Athlete
from sessions.progress.athlete import curve_panels, training_panels
from sessions.progress.benchmarks import benchmark_panels
from sessions.progress.forms import TWELVE_WEEKS, GymProgressForm, ProgressForm, ReportForm
from sessions.progress.gym import gym_panels
from sessions.progress.held import WEEKS, held_panels
from sessions.progress.report import report_pdf


def athlete(request: HttpRequest, pk: int) -> HttpResponse:
    """How an athlete comes along: curves now and then, benchmarks, what was done of what was asked, load by week."""
    athlete, day = get_object_or_404(Athlete, pk=pk), today()
    form = ProgressForm(request.GET or None, athlete=athlete)
    then, benchmark = form.choice()
    context = {
        "athlete": athlete,
        "form": form if form.is_bound else ProgressForm(initial={"then": then}, athlete=athlete),
        "benchmarks": benchmark_panels(athlete, benchmark, day),
        "curves": curve_panels(athlete, then, day),
        "training": training_panels(athlete, day),
        "then": then,
        "report": ReportForm(initial={"from": day - TWELVE_WEEKS, "to": day}),
    }
    return render(request, "progress/progress.html", context)


def gym(request: HttpRequest) -> HttpResponse:
    """How the whole gym comes along."""
    form = GymProgressForm(request.GET or None)
    return render(request, "progress/progress_gym.html", {"form": form, "panels": gym_panels(form.choice(), today())})


def held(request: HttpRequest) -> HttpResponse:
    """What was promised and what was held, from the gym's own logs."""
    return render(request, "progress/held.html", {"panels": held_panels(today()), "weeks": WEEKS})


def report(request: HttpRequest, pk: int) -> HttpResponse:
    """Two pages for the athlete to take home, over the days `from` and `to` of the address."""
    athlete, form = get_object_or_404(Athlete, pk=pk), ReportForm(request.GET)
    if not form.is_valid():
        messages.error(request, form.non_field_errors()[0])
        return redirect("sessions:progress-athlete", pk)
    pdf = report_pdf(athlete, form.cleaned_data["first"], form.cleaned_data["last"], today())
    name = f"progress-{slugify(athlete.board_name) or athlete.pk}.pdf"
    return HttpResponse(pdf, "application/pdf", headers={"Content-Disposition": f'inline; filename="{name}"'})
