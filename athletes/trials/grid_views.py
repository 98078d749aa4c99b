"""The entry grid of a test day. Results stand in the database cell by cell; the page works by script."""

from dataclasses import asdict

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from athletes.efforts.forms import TYPED_EXAMPLES
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, TestDay
from athletes.trials.cells import cell_write
from athletes.trials.forms import cell_form, device_named, open_form, seen_at
from athletes.trials.grid import EMPTY, changed_places, entries_of, load_grid, open_elsewhere, places_of, tag_of
from athletes.trials.kept_out import kept_out

UNREADABLE = "This cannot be read. Type a result of at most 60 characters, or reload the page."
GONE = "This athlete or benchmark is gone. Reload the page."


def grid(request: HttpRequest, pk: int) -> HttpResponse:
    test_day = get_object_or_404(TestDay, pk=pk)
    context = {"test_day": test_day, "grid": load_grid(test_day), "examples": TYPED_EXAMPLES}
    context["locked"] = test_day.date > today()
    context["kept_out"] = kept_out(test_day) if test_day.date >= today() else []
    return render(request, "trials/grid.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def cells(request: HttpRequest, pk: int) -> HttpResponse:
    """GET: what stands in the cells now; for a page that says what it has seen (`tag`) and when (`at`), what changed
    since. POST: what was typed in one of them."""
    test_day = get_object_or_404(TestDay, pk=pk)
    if request.method == "POST":
        return _write(request, test_day)
    told = {"elsewhere": open_elsewhere(test_day, device_named(request.GET.get("device")))}
    told |= {"at": timezone.now().isoformat(), "tag": tag_of(test_day)}  # first: what comes in meanwhile is told again
    if request.GET.get("tag") == told["tag"]:
        return JsonResponse(told)
    since = seen_at(request.GET.get("at"))
    places = changed_places(test_day, since) if since else places_of(test_day)
    entries = entries_of(test_day, places)
    if since:  # what was taken back stands there as nothing
        entries = {place: entries.get(place, EMPTY) for place in places}
    told["cells"] = [{"athlete": a, "benchmark": b, **asdict(entry)} for (a, b), entry in entries.items()]
    return JsonResponse({**told, "all": since is None})


@require_POST
def open_cells(request: HttpRequest, pk: int) -> HttpResponse:
    """A device says how many of its results wait for a second look."""
    test_day, form = get_object_or_404(TestDay, pk=pk), open_form(request.body)
    if not form.is_valid():
        return JsonResponse({"state": "refused"}, status=422)
    said = {"count": form.cleaned_data["count"], "by": request.user}
    test_day.open_cells.update_or_create(device=form.cleaned_data["device"], defaults=said)
    return JsonResponse({"state": "saved"})


def _write(request: HttpRequest, test_day: TestDay) -> HttpResponse:
    form = cell_form(request.body)
    if not form.is_valid():
        return JsonResponse({"state": "refused", "words": UNREADABLE}, status=422)
    athlete = Athlete.objects.filter(pk=form.cleaned_data["athlete"]).first()
    benchmarks = Benchmark.objects.select_related("movement__machine_type")
    benchmark = benchmarks.filter(pk=form.cleaned_data["benchmark"]).first()
    if athlete is None or benchmark is None:
        return JsonResponse({"state": "refused", "words": GONE}, status=422)
    found = cell_write(test_day=test_day, athlete=athlete, benchmark=benchmark, write=form.write(), by=request.user)
    return JsonResponse({"state": found.state, "words": found.words, "entry": asdict(found.entry)})
