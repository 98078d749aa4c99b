from datetime import timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.text import slugify

from athletes.estimates.people import people_of
from athletes.gym.read import today
from athletes.models import Athlete
from sessions.logs.promises import promises
from sessions.progress.athlete import curve_panels, curves_then_and_now, training_panels
from sessions.progress.benchmarks import benchmark_panels, predicted
from sessions.progress.forms import TWELVE_WEEKS, GymProgressForm, ProgressForm, ReportForm
from sessions.progress.glance import answers, year
from sessions.progress.gym import gym_panels
from sessions.progress.gym_read import fallen_silent, heavy_in_a_row
from sessions.progress.held import WEEKS, held_panels, verdict
from sessions.progress.read import done_between, histories
from sessions.progress.report import goals, report_pdf


def athlete(request: HttpRequest, pk: int) -> HttpResponse:
    """How an athlete comes along: curves now and then, benchmarks, what was done of what was asked, load by week."""
    athlete, day = get_object_or_404(Athlete, pk=pk), today()
    form = ProgressForm(request.GET or None, athlete=athlete)
    then, benchmark = form.choice()
    found, curves = histories(athlete), curves_then_and_now(athlete, then, day)
    predictions = predicted(people_of([athlete]), [history.benchmark for history in found]) if found else {}
    done = done_between(athlete, day - timedelta(weeks=53), day)
    context = {
        "athlete": athlete,
        "answers": answers(found, curves, done, *goals(athlete, found, predictions, day), then, day),
        "year": year(done, found, day),
        "form": form if form.is_bound else ProgressForm(initial={"then": then}, athlete=athlete),
        "benchmarks": benchmark_panels(athlete, found, predictions, benchmark, day),
        "curves": curve_panels(athlete, curves, then),
        "training": training_panels(athlete, done, day),
        "then": then,
        "report": ReportForm(initial={"from": day - TWELVE_WEEKS, "to": day}),
    }
    return render(request, "progress/progress.html", context)


def gym(request: HttpRequest) -> HttpResponse:
    """How the whole gym comes along."""
    form, day = GymProgressForm(request.GET or None), today()
    then, benchmark = form.choice()
    form = form if form.is_bound else GymProgressForm(initial={"then": then})
    context = {"form": form, "panels": gym_panels(benchmark, then, day), "silent": fallen_silent(day)}
    context |= {"heavy": heavy_in_a_row(day), "held": verdict(said) if (said := promises(day)) else ""}
    return render(request, "progress/progress_gym.html", context)


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
