from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from athletes.audit.keeping import entry_about
from athletes.gym.read import today
from athletes.models import Athlete
from sessions.arithmetic.read import arithmetic
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
    targets = [(row, card_of(row.session.definition, row)) for row in rows]
    return render(request, "weeks/_athlete_targets.html", {"targets": targets, "today": today()})


def target(request: HttpRequest, pk: int) -> HttpResponse:
    """One target with everything behind it."""
    found = Target.objects.select_related("athlete", "session", "publication__week")
    target = get_object_or_404(found, pk=pk)
    entry_about(request, target.athlete_id)
    context = {"target": target, "card": card_of(target.session.definition, target), **arithmetic(target)}
    return render(request, "arithmetic/target.html", context)
