from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from athletes.models import Athlete
from sessions.pace.advice import advise
from sessions.pace.forms import SequenceForm


def pace(request: HttpRequest, pk: int) -> HttpResponse:
    """What an athlete's curves say about one effort or a sequence of legs."""
    athlete = get_object_or_404(Athlete, pk=pk)
    form = SequenceForm(request.GET or None)
    advice = None
    if request.GET and form.is_valid():
        try:
            advice = advise(athlete, form.cleaned_data["sequence"])
        except ValueError as error:
            form.add_error("legs", str(error))
    return render(request, "pace/pace.html", {"athlete": athlete, "form": form, "advice": advice})
