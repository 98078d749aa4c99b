"""Loads that the gym owns, kind by kind."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from athletes.equipment.forms import RackForm
from athletes.equipment.read import rack_lines
from athletes.equipment.write import rack_remove
from athletes.models import Rack


def index(request: HttpRequest) -> HttpResponse:
    return render(request, "equipment/racks.html", {"lines": rack_lines()})


def create(request: HttpRequest) -> HttpResponse:
    form = RackForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        rack = form.save()
        messages.success(request, f"{rack}: kept. Now choose them in the movements that go by them.")
        return redirect("athletes:racks")
    return render(request, "equipment/rack_form.html", {"form": form})


def change(request: HttpRequest, pk: int) -> HttpResponse:
    rack = get_object_or_404(Rack, pk=pk)
    form = RackForm(request.POST or None, instance=rack)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, f"{rack}: changed. It holds in everything published from now on.")
        return redirect("athletes:racks")
    context = {"form": form, "rack": Rack.objects.get(pk=pk), "movements": rack.movements.all()}
    return render(request, "equipment/rack_form.html", context)


@require_POST
def remove(request: HttpRequest, pk: int) -> HttpResponse:
    """The page has asked, with the movements that go by them."""
    rack = Rack.objects.filter(pk=pk).first()
    if rack is None:
        messages.success(request, "These loads are off the list already.")
        return redirect("athletes:racks")
    movements = rack_remove(rack=rack)
    after = f" {', '.join(movements)}: in steps of 2.5 kg from now on." if movements else ""
    messages.success(request, f"{rack}: off the list.{after}")
    return redirect("athletes:racks")
