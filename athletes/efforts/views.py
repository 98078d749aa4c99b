from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from athletes.efforts.forms import EffortForm, VoidForm
from athletes.efforts.write import EffortQuestioned, effort_record, effort_void
from athletes.fields import whole_number
from athletes.gym.read import today
from athletes.models import Athlete, Benchmark, Effort
from athletes.words import result_text


def create(request: HttpRequest, pk: int) -> HttpResponse:
    """An effort of one athlete; with ?replaces= the one that it corrects."""
    athlete = get_object_or_404(Athlete, pk=pk)
    replaces = _replaced(request, athlete)
    if request.method == "GET" and replaces and replaces.voided_at:
        messages.warning(request, "That effort is voided already. Add a new one instead.")
        return redirect("athletes:detail", pk)
    form = EffortForm(request.POST or None, initial=_initial(request, replaces), benchmark=_offered(replaces))
    question = ""
    if request.method == "POST" and form.is_valid():
        try:
            return _keep(request, athlete, form, replaces)
        except EffortQuestioned as questioned:
            question = str(questioned)
        except ValidationError as error:
            form.say(error)
    context = {"athlete": athlete, "form": form, "question": question, "replaces": replaces}
    return render(request, "efforts/effort_form.html", context)


def void(request: HttpRequest, pk: int) -> HttpResponse:
    """Take an effort out of everything; it stays to be seen, with the reason."""
    effort = get_object_or_404(Effort.objects.select_related("athlete", "benchmark"), pk=pk)
    form = VoidForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        effort_void(effort=effort, reason=form.cleaned_data["reason"], by=request.user)
        messages.success(request, f"{effort.benchmark}, {effort.typed} no longer counts.")
        return redirect("athletes:detail", effort.athlete_id)
    return render(request, "efforts/effort_void.html", {"effort": effort, "form": form})


def _keep(request: HttpRequest, athlete: Athlete, form: EffortForm, replaces: Effort | None) -> HttpResponse:
    sent = form.cleaned_data
    effort = effort_record(
        athlete=athlete,
        benchmark=sent["benchmark"],
        typed=sent["typed"],
        performed_on=sent["performed_on"],
        by=request.user,
        key=sent["key"],
        confirmed=request.POST.get("confirmed") == form.answer(),
        replaces=replaces,
    )
    value = result_text(effort.benchmark.measure, effort.value, effort.repetitions, athlete.load_unit)
    messages.success(request, f"{effort.benchmark}, {value} is kept for {athlete}.")
    return redirect("athletes:detail", athlete.pk)


def _replaced(request: HttpRequest, athlete: Athlete) -> Effort | None:
    number = whole_number(request.GET.get("replaces", ""))
    if number is None:
        return None
    # Voided ones too: the same correction sent twice must find what it corrected the first time.
    return get_object_or_404(athlete.efforts.select_related("benchmark"), pk=number)


def _offered(replaces: Effort | None) -> Benchmark | None:
    return replaces.benchmark if replaces else None


def _initial(request: HttpRequest, replaces: Effort | None) -> dict:
    if replaces:
        return {"typed": replaces.typed, "performed_on": replaces.performed_on}
    return {"performed_on": today(), "benchmark": request.GET.get("benchmark", "")}
