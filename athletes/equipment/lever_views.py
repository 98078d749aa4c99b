"""Readings of levers, taken and removed on the page of the machine's type."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from athletes.equipment.forms import LeverReadingForm
from athletes.equipment.views import type_page
from athletes.equipment.write import lever_reading_add, lever_reading_remove
from athletes.models import LeverReading, MachineType


@require_POST
def add(request: HttpRequest, pk: int) -> HttpResponse:
    type = get_object_or_404(MachineType, pk=pk)
    form = LeverReadingForm(request.POST, type=type)
    if form.is_valid():
        sent = {name: form.cleaned_data[name] for name in ("machine", "lever", "drag", "taken_on", "key")}
        try:
            reading = lever_reading_add(by=request.user, **sent)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, f"{reading} is kept. Set the next lever, or choose the next machine.")
            return redirect(f"{_page(pk)}?machine={reading.machine_id}")
    return type_page(request, type, reading_form=form)


@require_POST
def remove(request: HttpRequest, pk: int) -> HttpResponse:
    reading = LeverReading.objects.select_related("machine__type").filter(pk=pk).first()
    messages.success(request, f"{reading or 'The reading'} is removed.")
    if reading is None:
        return redirect("athletes:machines")
    lever_reading_remove(reading=reading)
    return redirect(_page(reading.machine.type_id))


def _page(pk: int) -> str:
    return reverse("athletes:machine-change", args=[pk])
