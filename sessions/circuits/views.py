from uuid import uuid4

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from athletes.accounts.request import StaffRequest
from sessions.circuits.document import CircuitSerializer, document_of
from sessions.circuits.forms import EMPTY, INTENTS, editor, nested, usual_left
from sessions.circuits.library import library
from sessions.circuits.read import with_stations
from sessions.circuits.write import circuit_archive, circuit_change, circuit_create
from sessions.keys import sent_key
from sessions.models import Circuit


def index(request: StaffRequest) -> HttpResponse:
    archived = "archived" in request.GET
    find = request.GET.get("find", "")
    context = {"found": library(find, archived=archived), "find": find, "archived": archived}
    return render(request, "circuits/circuits.html", context)


def create(request: StaffRequest) -> HttpResponse:
    """A new circuit, from nothing or from a copy."""
    if request.method == "POST":
        return _save(request, None)
    document = EMPTY
    if request.GET.get("from", "").isdecimal():
        original = get_object_or_404(with_stations(Circuit.objects.all()), pk=request.GET["from"])
        document = {**document_of(original), "name": f"{original.name}, copy"}
    return _page(request, None, document)


def change(request: StaffRequest, pk: int) -> HttpResponse:
    circuit = get_object_or_404(with_stations(Circuit.objects.all()), pk=pk)
    if request.method == "POST":
        return _save(request, circuit)
    return _page(request, circuit, document_of(circuit))


@require_POST
def archive(request: StaffRequest, pk: int) -> HttpResponse:
    circuit = get_object_or_404(Circuit, pk=pk)
    circuit_archive(circuit=circuit, archived="restore" not in request.POST)
    done = "archived" if circuit.archived else "back in the list"
    messages.success(request, f"{circuit} is {done}. Weeks that use it keep it.")
    return redirect("sessions:circuits")


def _save(request: StaffRequest, circuit: Circuit | None) -> HttpResponse:
    typed = nested(request.POST)
    serializer = CircuitSerializer(data=typed)
    if not serializer.is_valid():
        return _page(request, circuit, typed, serializer.errors, status=422)
    document = serializer.validated_data
    try:
        if circuit:
            saved = circuit_change(circuit=circuit, document=document)
        else:
            saved = circuit_create(document=document, by=request.user, key=sent_key(request))
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return _page(request, circuit, typed, status=409)
    messages.success(request, f"{saved} is saved.")
    return redirect("sessions:circuit-change", saved.pk)


def _page(
    request: StaffRequest, circuit: Circuit | None, document: dict, errors: dict | None = None, status: int = 200
) -> HttpResponse:
    context = {"circuit": circuit, "key": sent_key(request) if errors else uuid4(), **editor(document, errors or {})}
    context |= {"usual": usual_left(request.gym.headrooms), "intents": INTENTS}
    return render(request, "circuits/circuit_form.html", context, status=status)
