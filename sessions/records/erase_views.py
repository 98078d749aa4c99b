from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from athletes.models import Athlete
from sessions.records.erase import athlete_erase
from sessions.records.forms import EraseForm

ERASED = (
    "Erased, and every page that showed the name. Archives and files taken out before, prints, and notes typed "
    "elsewhere still hold it."
)


def erase(request: HttpRequest, pk: int) -> HttpResponse:
    """Asks, with what will be gone, and erases an athlete for good."""
    athlete = Athlete.objects.filter(pk=pk).first()
    if athlete is None:
        messages.success(request, "This athlete is erased already.")
        return redirect("athletes:list")
    form = EraseForm(request.POST or None, athlete=athlete)
    if request.method == "POST" and form.is_valid():
        try:
            athlete_erase(athlete=athlete)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, ERASED)
            return redirect("athletes:list")
    counts = {"efforts": athlete.efforts.count(), "targets": athlete.targets.count(), "logs": athlete.logs.count()}
    return render(request, "records/erase.html", {"athlete": athlete, "form": form, "counts": counts})
