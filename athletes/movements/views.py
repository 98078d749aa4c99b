from functools import partial

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from athletes.models import Account, Movement
from athletes.movements.forms import CueForm, MovementForm
from athletes.sending import send


def index(request: HttpRequest) -> HttpResponse:
    archived = "archived" in request.GET
    movements = Movement.objects.filter(archived=archived).select_related("machine_type")
    return render(request, "movements/movements.html", {"movements": movements, "archived": archived})


def create(request: HttpRequest) -> HttpResponse:
    form = MovementForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        movement = form.save()
        messages.success(request, f"{movement} can be put into circuits now.")
        return redirect("athletes:movements")
    return render(request, "movements/movement_form.html", {"form": form})


def change(request: HttpRequest, pk: int) -> HttpResponse:
    """Everything for coaches; for staff the words on the card."""
    movement = get_object_or_404(Movement, pk=pk)
    form_class = CueForm if request.user.role == Account.Role.STAFF else MovementForm
    form = form_class(request.POST or None, instance=movement)
    if request.method == "POST" and form.is_valid():
        form.save()
        if form.moves_estimates():
            transaction.on_commit(partial(send, "athletes.estimates_refresh"))
        messages.success(request, f"{movement} is changed.")
        return redirect("athletes:movements")
    return render(request, "movements/movement_form.html", {"form": form, "movement": Movement.objects.get(pk=pk)})
