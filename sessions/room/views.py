from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_POST

from athletes.gym.read import today
from sessions.by_hand.read import live_session
from sessions.circuits.definition import Definition
from sessions.circuits.document import CircuitSerializer
from sessions.circuits.forms import nested
from sessions.circuits.freeze import definition_of, definition_of_document
from sessions.circuits.read import with_stations
from sessions.models import Circuit, PlannedSession
from sessions.room.preview import room_preview
from sessions.weeks.read import day_of, intent_factors


@require_POST
def preview(request: HttpRequest) -> HttpResponse:
    """The room preview of a circuit as it stands in the editor; for who cannot edit, of the saved `circuit`."""
    headroom = request.gym.headroom
    if request.POST.get("circuit", "").isdecimal():
        circuit = get_object_or_404(with_stations(Circuit.objects.all()), pk=request.POST["circuit"])
        definition = definition_of(circuit, headroom=headroom)
    else:
        typed = nested(request.POST)
        # A circuit is seen before it has a name.
        serializer = CircuitSerializer(data={**typed, "name": typed["name"] or "New circuit"})
        if not serializer.is_valid():
            return render(request, "room/_room.html", {"unfinished": True})
        definition = definition_of_document(serializer.validated_data, headroom=headroom)
    usual = max(len(request.gym.class_times), 1)
    return render(request, "room/_room.html", _preview(request, definition, day=today(), classes=usual))


def planned(request: HttpRequest, pk: int) -> HttpResponse:
    """The room preview of a planned session, with the intent and limitations of its day."""
    planned = get_object_or_404(PlannedSession.objects.select_related("week").prefetch_related("hours"), pk=pk)
    circuit = with_stations(Circuit.objects.all()).get(pk=planned.circuit_id)
    definition = definition_of(circuit, headroom=request.gym.headroom)
    factor = day_of(planned, request.gym)["intent_factor"] or intent_factors(request.gym)["easy"]
    classes = len(planned.hours.all())
    context = _preview(request, definition, day=planned.date, intent=factor, classes=classes, key=planned.key)
    published = live_session(planned.key, today()) is not None
    context |= {"planned": planned, "circuit": circuit, "published": published}
    return render(request, "room/room.html", context)


def _preview(request: HttpRequest, definition: Definition, **options) -> dict:
    try:
        return {"room": room_preview(definition=definition, gym=request.gym, **options), "definition": definition}
    except ValueError as error:
        return {"problem": str(error), "definition": definition}
