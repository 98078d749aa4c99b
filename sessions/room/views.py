from datetime import date

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from athletes.accounts.request import StaffRequest
from athletes.gym.forms import GymForm
from athletes.gym.read import today
from athletes.models import Movement
from sessions.by_hand.read import live_session
from sessions.circuits.definition import Definition
from sessions.circuits.freeze import definition_of, definition_of_document, definition_on_day, varied
from sessions.circuits.page import plan_page
from sessions.circuits.read import with_stations
from sessions.circuits.sheet import sheet_of
from sessions.models import Circuit, PlannedSession
from sessions.room.accustomed import accustomed_say, accustomed_take_back, said_of
from sessions.room.day import Day, day_for, day_of, next_planned
from sessions.room.effect import effect_of
from sessions.room.forms import AccustomedForm
from sessions.room.panel import panel_of
from sessions.room.preview import facts, room_preview

SAVE_FIRST = "By hand belongs to a session as it is planned: save this circuit first."
ON_ITS_DAY = "By hand belongs to a session: choose “as planned” above."
PLAN_FIRST = "By hand belongs to a session: plan this circuit in a week first."


@require_POST
def preview(request: StaffRequest) -> HttpResponse:
    """The room preview of a circuit as it stands in the editor; for who cannot edit, of the saved `circuit`."""
    circuit = _circuit(request.POST.get("circuit", "") or request.POST.get("of", ""))
    saved = definition_of(circuit) if circuit else None
    if request.POST.get("circuit") and saved:
        definition = saved
    else:
        sheet = sheet_of(request.POST)
        if sheet.checked is None:
            context = {"sheet": sheet, "problem_of": sheet.errors.get("format")}
            # What was shown last stays, paler, under what is in the way.
            answer = render(request, "room/_way.html", context)
            answer["HX-Retarget"] = "#room-way"
            return answer
        definition = definition_of_document(sheet.checked)
    day = day_for(circuit, definition, gym=request.gym, today=today(), intent=request.POST.get("intent", "hard"))
    shown = definition
    if planned := day.planned:  # with the rounds, the dose and the interval of its day
        shown = varied(definition, planned.rotations, planned.dose_percent, planned.interval_s)
    context = {**_preview(shown, day, today()), "live": True}
    hand = "" if day.planned and definition == saved else PLAN_FIRST
    if hand and next_planned(circuit, today()):
        hand = SAVE_FIRST if definition != saved else ON_ITS_DAY
    plan = plan_page(circuit) if circuit and hand == PLAN_FIRST and definition == saved else ""
    return render(request, "room/_room.html", _with_panel(context, hand, plan))


def planned(request: StaffRequest, pk: int) -> HttpResponse:
    """The room preview of a planned session, with the intent and limitations of its day; `part` of a part."""
    planned = get_object_or_404(
        PlannedSession.objects.standing().select_related("week").prefetch_related("hours"), pk=pk
    )
    key, circuit_id = planned.key, planned.circuit_id
    if asked := request.GET.get("part"):
        part = next((p for p in planned.parts.all() if str(p.key) == asked and p.circuit_id), None)
        if part is None:
            raise Http404("This class has no such part any more.")
        key, circuit_id = part.key, part.circuit_id
    circuit = with_stations(Circuit.objects.all()).get(pk=circuit_id)
    own = circuit_id == planned.circuit_id
    definition = definition_on_day(circuit, planned) if own else definition_of(circuit)
    context = _preview(definition, day_of(planned, request.gym, definition, key), today())
    context |= {"planned": planned, "circuit": circuit}
    return render(request, "room/room.html", _with_panel(context, ""))


@require_POST
def effect(request: HttpRequest) -> HttpResponse:
    """What the settings of the gym would do, as they are typed; nothing is kept."""
    form = GymForm(request.POST, instance=request.gym)
    if not form.is_valid():
        return render(request, "room/_effect.html", {"unfinished": True})
    return render(request, "room/_effect.html", {"effect": effect_of(form.instance, today())})


def accustomed(request: HttpRequest, pk: int) -> HttpResponse:
    """Who is used to much of a movement that makes sore: what coaches said, and a new answer or one taken back.

    Inside a preview the answer comes by itself, and the preview asks for itself again.
    """
    movement = get_object_or_404(Movement, pk=pk)
    form = AccustomedForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        asked = form.cleaned_data["asked"]
        if "take_back" in request.POST:
            accustomed_take_back(movement=movement, athletes=asked)
        else:
            accustomed_say(movement=movement, asked=asked, used=form.cleaned_data["used"], by=request.user)
        if request.headers.get("HX-Request"):
            return HttpResponse(status=204, headers={"HX-Trigger": "room-changed"})
        messages.success(request, "Saved. Numbers that are published stay until you publish again.")
        return redirect("sessions:accustomed", pk)
    context = {"movement": movement, "said": said_of(movement), "form": form}
    return render(request, "room/accustomed.html", context, status=422 if form.errors else 200)


def _circuit(pk: str) -> Circuit | None:
    if not pk.isdecimal() or len(pk) > 9:
        return None
    return get_object_or_404(with_stations(Circuit.objects.all()), pk=pk)


def _preview(definition: Definition, day: Day, now: date) -> dict:
    context = {"definition": definition, "occasion": day.occasion, "day": day}
    if day.key:
        context["published"] = live_session(day.key, now) is not None
    try:
        context["room"] = room_preview(definition=definition, occasion=day.occasion, classes=day.classes)
    except ValueError as error:
        return {**context, "problem": str(error)}
    return {**context, "facts": facts(definition, day.occasion), "meant": _meant(definition)}


def _with_panel(context: dict, no_hand: str, plan: str = "") -> dict:
    """The panel's values, and why nothing can be set by hand, empty where it can; `plan` leads to where it then can."""
    if "room" not in context:
        return context
    key = context["day"].key
    panel = panel_of(context["room"], context["definition"])
    panel |= {"noHand": no_hand, "key": str(key) if key and not no_hand else "", "plan": plan}
    panel["published"] = context.get("published", False)
    return {**context, "panel": panel}


def _meant(definition: Definition) -> str:
    """What the coach wrote of what is meant: the first note that says so."""
    lines = (line.strip() for line in definition.notes.splitlines())
    return next((line[len("meant:") :].strip() for line in lines if line.casefold().startswith("meant:")), "")
