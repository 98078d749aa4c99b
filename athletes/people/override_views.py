"""A coach sets a computed caution aside for one athlete."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from athletes.audit.keeping import entry_about
from athletes.gym.read import today
from athletes.models import Athlete, Override
from athletes.people.forms import OverrideForm
from athletes.people.write import override_end, override_make


def create(request: HttpRequest, pk: int) -> HttpResponse:
    athlete = get_object_or_404(Athlete, pk=pk)
    form = OverrideForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            override_make(athlete=athlete, starts_on=today(), by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, "The caution is set aside. It is left out of what is published from now on.")
            return redirect("athletes:detail", pk)
    return render(request, "people/override_form.html", {"athlete": athlete, "form": form})


@require_POST
def end(request: HttpRequest, pk: int) -> HttpResponse:
    override = get_object_or_404(Override, pk=pk)
    override_end(override=override)
    entry_about(request, override.athlete_id)
    messages.success(request, "The caution holds again from tomorrow. Publish again to show it.")
    return redirect("athletes:detail", override.athlete_id)
