"""Test day: results of many athletes in one benchmark, typed as fast as they are called."""

from datetime import date

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from athletes.efforts.forms import TYPED_EXAMPLES, DayForm, ListRow, entry_rows, sent_athlete
from athletes.efforts.write import EffortQuestioned, EffortSentBefore, effort_record
from athletes.gym.read import today
from athletes.models import Account, Athlete, Benchmark

PAGE = 150


def test_day(request: HttpRequest, pk: int) -> HttpResponse:
    benchmark = get_object_or_404(Benchmark.objects.select_related("movement__machine_type"), pk=pk)
    athletes = Athlete.objects.filter(active=True)
    if request.headers.get("HX-Request") and (one := sent_athlete(request.POST)):
        return _one_row(request, benchmark, get_object_or_404(athletes, pk=one))
    page = Paginator(athletes, PAGE).get_page(request.GET.get("page"))
    day_form = DayForm(request.POST or None, initial={"performed_on": request.GET.get("day", today())})
    rows = entry_rows(benchmark, page.object_list, request.POST)
    if request.method == "POST" and day_form.is_valid():
        day, one = day_form.cleaned_data["performed_on"], sent_athlete(request.POST)
        sent = [row for row in rows if row.typed and one in ("", str(row.athlete.pk))]
        _keep_rows(sent, benchmark, day, request.user)
        _say(request, sent)
        # Back to an empty list, unless something typed is still waiting in it.
        if not any(row.typed for row in rows):
            return redirect(f"{reverse('athletes:benchmark-entry', args=[pk])}?day={day}")
    context = {"benchmark": benchmark, "page": page, "rows": rows, "day_form": day_form, "examples": TYPED_EXAMPLES}
    return render(request, "efforts/test_day.html", context)


def _one_row(request: HttpRequest, benchmark: Benchmark, athlete: Athlete) -> HttpResponse:
    """A single row sent by its own button; the rest of the page stays as it is."""
    day_form = DayForm(request.POST)
    (row,) = entry_rows(benchmark, [athlete], request.POST)
    if not day_form.is_valid():
        row.error = day_form.errors["performed_on"][0]
    elif row.typed:
        _keep_rows([row], benchmark, day_form.cleaned_data["performed_on"], request.user)
    return render(request, "efforts/_test_day_row.html", {"row": row, "benchmark": benchmark})


def _keep_rows(rows: list[ListRow], benchmark: Benchmark, day: date, by: Account) -> None:
    """Each row for itself: one that is not understood does not hold up the others."""
    for row in rows:
        if row.error:
            continue
        sent = {"athlete": row.athlete, "benchmark": benchmark, "typed": row.typed, "performed_on": day, "by": by}
        try:
            row.close(effort_record(**sent, key=row.key, confirmed=row.confirmed))
        except EffortQuestioned as questioned:
            row.question = str(questioned)
        except EffortSentBefore as before:  # the browser went back to an older page and something else was typed there
            row.reopen(before.typed)
        except ValidationError as error:
            row.error = " ".join(error.messages)


def _say(request: HttpRequest, rows: list[ListRow]) -> None:
    kept, open_rows = sum(row.kept is not None for row in rows), sum(row.open for row in rows)
    if kept:
        messages.success(request, "1 effort is kept." if kept == 1 else f"{kept} efforts are kept.")
    if open_rows:
        messages.warning(request, "1 row needs a look." if open_rows == 1 else f"{open_rows} rows need a look.")
    if not rows:
        messages.warning(request, "Nothing was typed. Type a result beside a name.")
