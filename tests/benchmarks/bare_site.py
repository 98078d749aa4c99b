"""A bare view with one query, beside the site's own pages; see tests.benchmarks.phone."""

from django.http import HttpResponse
from django.urls import path

from athletes.models import Athlete
from coachhub.urls import urlpatterns as site


def bare(request):
    return HttpResponse(str(Athlete.objects.filter(active=True).count()))


urlpatterns = [path("bare/", bare, name="healthy"), *site]  # a name that is open to everyone
