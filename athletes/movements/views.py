from copy import copy

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from athletes.models import Account, Movement
from athletes.movements.forms import CueForm, MovementForm
from athletes.movements.likeness import LOADED, REPETITIONS
from athletes.movements.write import movement_archive, movement_changed, movement_make, movement_proposed


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
    before = copy(movement)  # the form changes the other one
    form_class = CueForm if request.user.role == Account.Role.STAFF else MovementForm
    form = form_class(request.POST or None, instance=movement)
    if request.method == "POST" and form.is_valid():
        movement_changed(before=before, after=form.save())
        messages.success(request, f"{movement} is changed.")
        return redirect("athletes:movements")
    return render(request, "movements/movement_form.html", {"form": form, "movement": Movement.objects.get(pk=pk)})


def make(request: HttpRequest) -> HttpResponse:
    """A movement made in place, while a circuit is written: first what it would be, then how it is undone."""
    sent = request.POST or request.GET
    name, dose_kind = sent.get("name", ""), sent.get("dose_kind", "repetitions")
    if request.method != "POST":
        proposed, mended, guess = movement_proposed(name=name, dose_kind=dose_kind)
        timed = guess.kind in (REPETITIONS, LOADED)
        return JsonResponse(
            {
                "name": proposed,
                "mended": mended,
                "seconds": guess.seconds_per_repetition if timed else None,
                "says": guess.kind_words,
            }
        )
    seconds = None
    if typed := request.POST.get("seconds", "").strip():
        try:
            seconds = float(typed.replace(",", "."))
        except ValueError:
            return JsonResponse({"says": "The seconds for one are a number, such as 2.5."}, status=422)
    try:
        movement, guess = movement_make(name=name, dose_kind=dose_kind, seconds=seconds)
    except ValidationError as error:
        return JsonResponse({"says": " ".join(error.messages)}, status=422)
    answer = {"name": movement.name, "change": reverse("athletes:movement-change", args=[movement.pk])}
    if guess is None:
        return JsonResponse({**answer, "says": f"{movement} is here already."})
    undo = reverse("athletes:movement-archive", args=[movement.pk])
    return JsonResponse({**answer, "says": f"{movement} is made: {guess.words}.", "undo": undo})


@require_POST
def archive(request: HttpRequest, pk: int) -> HttpResponse:
    """No longer offered, or offered again."""
    movement = movement_archive(movement=get_object_or_404(Movement, pk=pk), archived="restore" not in request.POST)
    return JsonResponse({"says": f"{movement} is {'archived' if movement.archived else 'offered again'}."})
