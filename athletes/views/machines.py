from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from athletes.forms.fields import whole_number
from athletes.forms.machine import MachineTypeForm
from athletes.models import MachineType
from athletes.services.machines import machine_add, machine_move, next_number


def index(request: HttpRequest) -> HttpResponse:
    """What stands in the room, by type; the form adds a type."""
    form = MachineTypeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        type = form.save()
        messages.success(request, f"{type} is added. Now say how many there are.")
        return redirect("athletes:machine-change", type.pk)
    types = MachineType.objects.prefetch_related("machines")
    return render(request, "athletes/machines.html", {"types": types, "form": form})


def change(request: HttpRequest, pk: int) -> HttpResponse:
    """One type and its numbered machines. Small forms share the address; the button says what is wanted."""
    type = get_object_or_404(MachineType.objects.prefetch_related("machines"), pk=pk)
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
    context = {"type": MachineType.objects.get(pk=pk), "form": form, "next_number": next_number(type)}
    return render(request, "athletes/machine_form.html", context)


def _done(request: HttpRequest, type: MachineType, sentence: str) -> HttpResponse:
    messages.success(request, sentence)
    return redirect("athletes:machine-change", type.pk)
