from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from athletes.models import Athlete
from sessions.cautions.read import caution_lines


def of_athlete(request: HttpRequest, pk: int) -> HttpResponse:
    """The part of an athlete's page that says which computed cautions hold today."""
    return render(request, "cautions/_cautions.html", {"lines": caution_lines(get_object_or_404(Athlete, pk=pk))})
