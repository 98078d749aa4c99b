from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from athletes.gym.forms import GymForm
from athletes.gym.read import today
from athletes.models import Movement
from sessions.by_hand.read import live_session
from sessions.circuits.definition import Definition
from sessions.circuits.document import CircuitSerializer
from sessions.circuits.forms import nested
from sessions.circuits.freeze import definition_of, definition_of_document, definition_on_day
from sessions.circuits.read import with_stations
from sessions.models import Circuit, PlannedSession
from sessions.room.accustomed import accustomed_say, accustomed_take_back, said_of
from sessions.room.effect import effect_of
from sessions.room.forms import AccustomedForm
from sessions.room.preview import facts, room_preview
from sessions.targets.occasion import Occasion
from sessions.weeks.days import occasion_of, occasion_on


@require_POST
def preview(request: HttpRequest) -> HttpResponse:
    """The room preview of a circuit as it stands in the editor; for who cannot edit, of the saved `circuit`."""
    if request.POST.get("circuit", "").isdecimal():
        circuit = get_object_or_404(with_stations(Circuit.objects.all()), pk=request.POST["circuit"])
        definition = definition_of(circuit)
    else:
        typed = nested(request.POST)
        # A circuit is seen before it has a name.
        serializer = CircuitSerializer(data={**typed, "name": typed["name"] or "New circuit"})
        if not serializer.is_valid():
            return render(request, "room/_room.html", {"unfinished": True})
        definition = definition_of_document(serializer.validated_data)
    occasion = occasion_on(today(), request.gym, definition, request.POST.get("intent", "hard"))
    usual = max(len(request.gym.class_times), 1)
    return render(request, "room/_room.html", _preview(definition, occasion, usual))


def planned(request: HttpRequest, pk: int) -> HttpResponse:
    """The room preview of a planned session, with the intent and limitations of its day; `part` of a part."""
    planned = get_object_or_404(PlannedSession.objects.select_related("week").prefetch_related("hours"), pk=pk)
    key, circuit_id = planned.key, planned.circuit_id
    if asked := request.GET.get("part"):
        part = next((p for p in planned.parts.all() if str(p.key) == asked and p.circuit_id), None)
        if part is None:
            raise Http404("This class has no such part any more.")
        key, circuit_id = part.key, part.circuit_id
    circuit = with_stations(Circuit.objects.all()).get(pk=circuit_id)
    own = circuit_id == planned.circuit_id
    definition = definition_on_day(circuit, planned) if own else definition_of(circuit)
    occasion = occasion_of(planned, request.gym, definition, key)
    context = _preview(definition, occasion, len(planned.hours.all()))
    published = live_session(key, today()) is not None
    context |= {"planned": planned, "circuit": circuit, "published": published, "key": key}
    return render(request, "room/room.html", context)


@require_POST
def effect(request: HttpRequest) -> HttpResponse:
    """What the settings of the gym would do, as they are typed; nothing is kept."""
    form = GymForm(request.POST, instance=request.gym)
    if not form.is_valid():
        return render(request, "room/_effect.html", {"unfinished": True})
    return render(request, "room/_effect.html", {"effect": effect_of(form.instance, today())})


def accustomed(request: HttpRequest, pk: int) -> HttpResponse:
    """Who is used to much of a movement that makes sore: what coaches said, and a new answer or one taken back.

    Inside a preview the answer comes by itself, and the preview asks for itself again.
    """
    movement = get_object_or_404(Movement, pk=pk)
    form = AccustomedForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        asked = form.cleaned_data["asked"]
        if "take_back" in request.POST:
            accustomed_take_back(movement=movement, athletes=asked)
        else:
            accustomed_say(movement=movement, asked=asked, used=form.cleaned_data["used"], by=request.user)
        if request.headers.get("HX-Request"):
            return HttpResponse(status=204, headers={"HX-Trigger": "room-changed"})
        messages.success(request, "Saved. Numbers that are published stay until you publish again.")
        return redirect("sessions:accustomed", pk)
    context = {"movement": movement, "said": said_of(movement), "form": form}
    return render(request, "room/accustomed.html", context, status=422 if form.errors else 200)


def _preview(definition: Definition, occasion: Occasion, classes: int) -> dict:
    context = {"definition": definition, "occasion": occasion}
    try:
        context["room"] = room_preview(definition=definition, occasion=occasion, classes=classes)
    except ValueError as error:
        return {**context, "problem": str(error)}
    return {**context, "facts": facts(definition, occasion)}
