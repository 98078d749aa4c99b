from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from athletes.audit.keeping import entry_about
from athletes.gym.read import today
from athletes.models import Athlete, Limitation
from athletes.people.forms import LimitationForm
from athletes.people.write import limitation_create, limitation_end

KEPT = (
    "The limitation is kept. It holds in everything published from now on. Where a week is live already, the floor "
    "sheet says what to swap; or publish the week again."
)


def create(request: HttpRequest, pk: int) -> HttpResponse:
    athlete = get_object_or_404(Athlete, pk=pk)
    limitation = Limitation(athlete=athlete, entered_by=request.user)
    form = LimitationForm(request.POST or None, instance=limitation, initial={"starts_on": today()})
    if request.method == "POST" and form.is_valid():
        limitation.key = form.cleaned_data["key"]
        try:
            limitation_create(limitation=limitation, movements=form.cleaned_data["movements"])
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, KEPT)
            return redirect("athletes:detail", pk)
    return render(request, "people/limitation_form.html", {"athlete": athlete, "form": form})


@require_POST
def end(request: HttpRequest, pk: int) -> HttpResponse:
    limitation = get_object_or_404(Limitation, pk=pk)
    limitation_end(limitation=limitation)
    entry_about(request, limitation.athlete_id)
    messages.success(request, "The limitation ends today. Publish again to bring the movements back.")
    return redirect("athletes:detail", limitation.athlete_id)
