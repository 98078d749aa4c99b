from uuid import UUID

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from athletes.gym.read import today
from athletes.models import Athlete
from sessions.by_hand.ahead import warning
from sessions.by_hand.forms import PinForm, start_of
from sessions.by_hand.read import live_session, session_definition
from sessions.by_hand.start import standing_target
from sessions.by_hand.write import pin_set, pin_take_off
from sessions.models import Pin
from sessions.weeks.days import standing_pins
from sessions.words.cards import card_of


def change(request: HttpRequest, key: UUID, athlete: int, station: int) -> HttpResponse:
    """Set one athlete's target at one station of a session by hand."""
    athlete, (name, day, definition) = get_object_or_404(Athlete, pk=athlete), _session(request, key, station)
    place = definition.stations[station - 1]
    stands = standing_target(key, athlete, station, definition=definition, gym=request.gym, day=today())
    form = PinForm(request.POST or None, station=place, initial=start_of(stands))
    if request.method == "POST" and form.is_valid():
        pin = form.pin(session_key=key, athlete=athlete, station=station, by=request.user)
        try:
            pin_set(pin=pin, station=place)
        except ValidationError as error:
            _add(form, error)
        else:
            messages.success(request, f"{athlete}'s target at station {station} is set by hand. {_seen(key)}")
            now = standing_target(key, athlete, station, definition=definition, gym=request.gym, day=today())
            if now and now.rung >= 0:
                option = place.options[now.rung]
                if text := warning(dose=now.dose, option=option, probability=now.probability):
                    messages.warning(request, text)
            return redirect("sessions:pins", key)
    standing = standing_pins([key], [athlete.pk]).filter(station=station).first()
    context = {
        "athlete": athlete,
        "form": form,
        "station": place,
        "pin": standing,
        "stands": stands and card_of(definition, stands, explained=False),
        "name": name,
        "day": day,
        "key": key,
    }
    return render(request, "by_hand/pin_form.html", context)


def index(request: HttpRequest, key: UUID) -> HttpResponse:
    """All targets of a session that are set by hand."""
    name, day, definition = _session(request, key)
    pins = standing_pins([key]).select_related("athlete", "movement", "made_by").order_by("athlete__name", "station")
    context = {"pins": pins, "name": name, "day": day, "key": key, "live": live_session(key, today())}
    return render(request, "by_hand/pins.html", {**context, "definition": definition})


@require_POST
def take_off(request: HttpRequest, pk: int) -> HttpResponse:
    pin = pin_take_off(pin=get_object_or_404(Pin, pk=pk), by=request.user)
    messages.success(request, f"The target is no longer set by hand. {_seen(pin.session_key)}")
    return redirect("sessions:pins", pin.session_key)


def _session(request: HttpRequest, key: UUID, station: int = 1) -> tuple:
    found = session_definition(key, today(), request.gym)
    if found is None or not 1 <= station <= len(found[2].stations):
        raise Http404("No such session.")
    return found


def _seen(key: UUID) -> str:
    live = live_session(key, today()) is not None
    return "It shows on phone and wall at once." if live else "It shows when the week is published."


def _add(form: PinForm, error: ValidationError) -> None:
    """Errors beside the fields that the form has; `movement` is its `rung`."""
    for name, errors in getattr(error, "error_dict", {None: error}).items():
        place = "rung" if name == "movement" else name
        form.add_error(place if place in form.fields else None, errors)
