from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from athletes.efforts.contradictions import results_to_check
from athletes.gym.read import today
from athletes.models import Athlete


def index(request: HttpRequest) -> HttpResponse:
    """Results that contradict others of the same athlete, of everyone who takes part or is only away."""
    here = list(Athlete.objects.filter(Q(active=True) | Q(leave_from__isnull=False)).values_list("pk", flat=True))
    return render(request, "efforts/checks.html", {"checks": results_to_check(here, today())})
