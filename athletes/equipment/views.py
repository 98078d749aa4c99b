from django.contrib import messages
from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from athletes.equipment.forms import LeverReadingForm, MachineTypeForm, TargetDragForm
from athletes.equipment.levers import lever_cards
from athletes.equipment.read import density_for
from athletes.equipment.write import machine_add, machine_move, next_number
from athletes.fields import whole_number
from athletes.gym.read import today
from athletes.models import LeverReading, MachineType


def index(request: HttpRequest) -> HttpResponse:
    """What stands in the room, by type; the form adds a type."""
    form = MachineTypeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        type = form.save()
        messages.success(request, f"{type} is added. Now say how many there are.")
        return redirect("athletes:machine-change", type.pk)
    types = MachineType.objects.prefetch_related("machines")
    return render(request, "equipment/machines.html", {"types": types, "form": form})


def change(request: HttpRequest, pk: int) -> HttpResponse:
    """One type and its numbered machines. Small forms share the address; the button says what is wanted."""
    type = get_object_or_404(MachineType, pk=pk)
    sent = {name: whole_number(request.POST.get(name, "")) for name in ("add", "take_off", "put_back")}
    if sent["add"]:
        return _done(request, type, f"{machine_add(type=type, number=sent['add'])} is on the floor.")
    if moved := sent["take_off"] or sent["put_back"]:
        machine = get_object_or_404(type.machines.select_related("type"), pk=moved)
        machine_move(machine=machine, active=not sent["take_off"])
        return _done(request, type, f"{machine} is {'back on' if machine.active else 'off'} the floor.")
    form = MachineTypeForm(request.POST or None, instance=type)
    if request.method == "POST" and form.is_valid():
        form.save()
        return _done(request, type, f"{type} is changed.")
    return type_page(request, type, form=form)


def type_page(
    request: HttpRequest,
    type: MachineType,
    form: MachineTypeForm | None = None,
    reading_form: LeverReadingForm | None = None,
) -> HttpResponse:
    """The page of a type, with whichever of its two forms was sent and needs another look."""
    readings = Prefetch("machines__readings", LeverReading.objects.select_related("entered_by"))
    kept = MachineType.objects.prefetch_related("machines", readings).get(pk=type.pk)
    context = {"type": kept, "form": form or MachineTypeForm(instance=type), "next_number": next_number(kept)}
    if kept.lever_most:
        context |= _levers(request, kept, reading_form)
    return render(request, "equipment/machine_form.html", context)


def _levers(request: HttpRequest, type: MachineType, reading_form: LeverReadingForm | None) -> dict:
    day, drag_form = today(), TargetDragForm({"drag": request.GET.get("drag", "")}, auto_id="wanted_%s")
    density, reading = density_for(day, request.gym)
    initial = {"taken_on": day, "machine": whole_number(request.GET.get("machine", ""))}
    reading_form = reading_form or LeverReadingForm(initial=initial, type=type)
    return {
        "cards": lever_cards(type, density, day, drag_form.target()),
        "drag_form": drag_form,
        "reading_form": reading_form,
        "any_to_read": any(machine.active for machine in type.machines.all()),
        "density": density,
        "reading": reading,
    }


def _done(request: HttpRequest, type: MachineType, sentence: str) -> HttpResponse:
    messages.success(request, sentence)
    return redirect("athletes:machine-change", type.pk)
