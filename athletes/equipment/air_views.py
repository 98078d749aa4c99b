from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from athletes.equipment.forms import AirReadingForm
from athletes.equipment.read import air_readings, density_for
from athletes.equipment.write import air_reading_add, air_reading_remove
from athletes.gym.read import today
from athletes.models import AirReading


def index(request: HttpRequest) -> HttpResponse:
    """What the air is like today, the latest readings, and a form for the next one."""
    form = AirReadingForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        sent = form.cleaned_data
        try:
            air_reading_add(key=sent["key"], by=request.user, taken_at=sent["taken_at"], **form.measured())
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, "The reading is kept.")
            return redirect("athletes:air")
    density, reading = density_for(today(), request.gym)
    context = {"form": form, "readings": air_readings(request.gym), "density": density, "reading": reading}
    return render(request, "equipment/air.html", context)


@require_POST
def remove(request: HttpRequest, pk: int) -> HttpResponse:
    for reading in AirReading.objects.filter(pk=pk):
        air_reading_remove(reading=reading)
    messages.success(request, "The reading is removed.")
    return redirect("athletes:air")
