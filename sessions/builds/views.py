from uuid import UUID, uuid4

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from athletes.fields import whole_number
from athletes.gym.read import today
from athletes.undo import done
from sessions.builds.forms import UNITS, BuildForm, shape_of, usual_days
from sessions.builds.outlook import outlook
from sessions.builds.propose import SENTENCES, proposal
from sessions.builds.read import builds, days_to_show, sessions_of
from sessions.builds.write import build_days, build_start, decide, decision_undo, keys_of
from sessions.circuits.freeze import definition_of
from sessions.circuits.read import with_stations
from sessions.keys import sent_key
from sessions.models import Build, Circuit

FIELDS = ("circuit", "starts_on", "until", "every", "hours", "intent", "grows", "first", "last", "eased")


def index(request: HttpRequest) -> HttpResponse:
    return render(request, "builds/builds.html", {"builds": builds()})


def create(request: HttpRequest) -> HttpResponse:
    """A build while it is planned: drawn with what the room makes of it, and one press on, put into the weeks."""
    sent = request.POST if request.method == "POST" else request.GET
    usual = {
        **usual_days(today()),
        "every": 1,
        "intent": "hard",
        "grows": "rounds",
        "eased": 4,
        "first": "",
        "last": "",
    }
    usual |= {"hours": ", ".join(request.gym.class_times), "circuit": ""}
    data = {name: sent.get(name, usual[name]) for name in FIELDS}
    form = BuildForm(data, steps=sent.getlist("step"), drawn_of=sent.get("drawn_of", ""))
    context = {"form": form, "key": sent_key(request) if request.method == "POST" else uuid4(), "units": UNITS}
    if not data["circuit"]:
        context["form"] = BuildForm(initial=data)
        return render(request, "builds/build_form.html", context)
    if not form.is_valid():
        return render(request, "builds/build_form.html", context, status=422 if request.method == "POST" else 200)
    found = form.cleaned_data
    if request.method == "POST" and "draw" not in request.POST:
        return _start(request, found, context["key"])
    circuit = with_stations(Circuit.objects.all()).get(pk=found["circuit"].pk)
    args = (found["grows"], found["days"], found["steps"], found["eased_places"], found["intent"], request.gym)
    try:
        context["outlook"] = outlook(definition_of(circuit), *args)
    except ValueError as error:
        context["problem"] = str(error)
    context |= {"grows": found["grows"], "drawn_of": shape_of(found) if found["grows"] != "nothing" else ""}
    form.data = {**data, "first": found.get("first") or "", "last": found.get("last") or ""}
    return render(request, "builds/build_form.html", context)


def _start(request: HttpRequest, found: dict, key: UUID) -> HttpResponse:
    build = Build(
        key=key,
        hours=[f"{hour:%H:%M}" for hour in found["hours"]],
        steps=found["steps"],
        eased=found["eased_places"],
        **{name: found[name] for name in ("circuit", "starts_on", "every", "intent", "grows")},
    )
    build = build_start(build=build, by=request.user)
    keys = keys_of(build)
    undo = {"session": keys, "week": build.starts_on}
    done(request, f"{len(keys)} sessions are in their weeks.", reverse("sessions:planned-take-off"), undo)
    return redirect("sessions:build", build.pk)


def detail(request: HttpRequest, pk: int) -> HttpResponse:
    """A build as it stands, and what is proposed after the newest time."""
    build = get_object_or_404(Build.objects.select_related("circuit"), pk=pk)
    circuit = with_stations(Circuit.objects.all()).get(pk=build.circuit_id)
    days = days_to_show(build, build_days(build))
    coming = next((session for session in sessions_of(build) if session.date > today()), None)
    context = {
        "build": build,
        "next": coming,
        "proposal": proposal(build, today()),
        "sentences": SENTENCES,
        "grows": build.grows,
    }
    try:
        context["outlook"] = outlook(
            definition_of(circuit), build.grows, days, build.steps, build.eased, build.intent, request.gym
        )
    except ValueError as error:
        context["problem"] = str(error)
    return render(request, "builds/build.html", context)


@require_POST
def decision(request: HttpRequest, pk: int) -> HttpResponse:
    """Progress, hold or step back after a step; the message has the way back."""
    build = get_object_or_404(Build, pk=pk)
    place = whole_number(request.POST.get("place", ""))
    if place is None or place >= len(build.steps):
        raise Http404("This build has no such step.")
    if request.POST.get("undo"):
        decision_undo(build=build, place=place, day=today())
        messages.success(request, "The build is as it was before.")
        return redirect("sessions:build", pk)
    decision = request.POST.get("decision", "")
    try:
        changed = decide(build=build, place=place, decision=decision, day=today())
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return redirect("sessions:build", pk)
    if not changed:
        messages.success(request, f"{SENTENCES[decision]}: as planned.")
        return redirect("sessions:build", pk)
    sessions = "1 session to come is" if changed == 1 else f"{changed} sessions to come are"
    words = f"{SENTENCES[decision]}: {sessions} changed. Publish to show it."
    done(request, words, reverse("sessions:build-decision", args=[pk]), {"undo": 1, "place": place})
    return redirect("sessions:build", pk)
