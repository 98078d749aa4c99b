from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from athletes.benchmarks.forms import BenchmarkForm
from athletes.benchmarks.read import benchmarks_found
from athletes.benchmarks.write import benchmarks_add, offers
from athletes.efforts.read import RETEST_AFTER
from athletes.models import Athlete, Benchmark


def index(request: HttpRequest) -> HttpResponse:
    """The tests of this gym, and how many athletes have a recent effort in each."""
    archived = "archived" in request.GET
    active = Athlete.objects.filter(active=True).count()
    context = {"benchmarks": benchmarks_found(archived=archived), "archived": archived, "active": active}
    context["retest_days"] = RETEST_AFTER.days
    return render(request, "benchmarks/benchmarks.html", context)


def create(request: HttpRequest) -> HttpResponse:
    form = BenchmarkForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        benchmark = form.save()
        messages.success(request, f"{benchmark} is a benchmark now. Open its test day to type results.")
        return redirect("athletes:benchmarks")
    return render(request, "benchmarks/benchmark_form.html", {"form": form})


def change(request: HttpRequest, pk: int) -> HttpResponse:
    benchmark = get_object_or_404(Benchmark, pk=pk)
    form = BenchmarkForm(request.POST or None, instance=benchmark)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, f"{benchmark} is changed.")
        return redirect("athletes:benchmarks")
    return render(request, "benchmarks/benchmark_form.html", {"form": form, "benchmark": Benchmark.objects.get(pk=pk)})


def library(request: HttpRequest) -> HttpResponse:
    """The usual tests for the movements of this gym; what is ticked becomes a benchmark."""
    if request.method == "POST":
        added = benchmarks_add(request.POST.getlist("add"))
        if added:
            messages.success(request, f"Added: {', '.join(added)}.")
        else:
            messages.warning(request, "Nothing was added: nothing was ticked that is not a benchmark already.")
        return redirect("athletes:benchmarks" if added else "athletes:benchmark-library")
    return render(request, "benchmarks/benchmark_library.html", {"offers": offers()})
