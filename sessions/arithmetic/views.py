from uuid import UUID

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render

from athletes.gym.read import today
from athletes.models import Athlete
from sessions.by_hand.ahead import ahead_of
from sessions.floor.views import found
from sessions.models import Publication, Target
from sessions.words.cards import card_of


def at_station(request: HttpRequest, key: UUID, athlete: int, station: int) -> HttpResponse:
    """The target that stands at a station of a session now, whichever revision it is of."""
    live = Target.objects.filter(session__key=key, publication__state=Publication.State.LIVE)
    return redirect("sessions:target", get_object_or_404(live, athlete=athlete, station=station).pk)


def of_athlete(request: HttpRequest, pk: int) -> HttpResponse:
    """The part of an athlete's page with the targets that stand from today on, each with the way to its arithmetic."""
    athlete = get_object_or_404(Athlete, pk=pk)
    live = Target.objects.filter(athlete=athlete, publication__state=Publication.State.LIVE, session__date__gte=today())
    rows = live.select_related("session").order_by("session__date", "session_id", "station")
    targets = [(row, card_of(row.session.definition, row, athlete.load_unit, explained=False)) for row in rows]
    return render(request, "weeks/_athlete_targets.html", {"targets": targets})


def ahead(request: HttpRequest, pk: int, athlete: int, station: int) -> HttpResponse:
    """What the menu of a dose on the floor sheet says of its harder and its swap."""
    return JsonResponse(ahead_of(found(pk), athlete, station))
