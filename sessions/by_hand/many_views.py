"""Several athletes by hand at once, from the panel beside the room. Answers are for the script there."""

from uuid import UUID

from django.core.exceptions import ValidationError
from django.http import Http404, JsonResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from athletes.accounts.request import StaffRequest
from athletes.fields import whole_number
from athletes.gym.read import today
from athletes.models import Athlete
from sessions.by_hand.forms import PinForm
from sessions.by_hand.many import MOST, pins_set_alike
from sessions.by_hand.read import session_definition
from sessions.by_hand.write import pins_take_off
from sessions.models import Pin


@require_POST
def change(request: StaffRequest, key: UUID) -> JsonResponse:
    """Set one station of a session by hand for the `athletes` (ids, with commas between)."""
    found = session_definition(key, today(), request.gym)
    station = whole_number(request.POST.get("station", "")) or 0
    if found is None or not 1 <= station <= len(found[2].stations):
        raise Http404("No such session.")
    place = found[2].stations[station - 1]
    athletes = list(Athlete.objects.filter(active=True, pk__in=_ids(request.POST.get("athletes", ""))))
    form = PinForm(request.POST, station=place)
    if not athletes:
        return _refused("Choose somebody in the room.")
    if not form.is_valid():
        return _refused(*(str(error) for errors in form.errors.values() for error in errors))
    try:
        pins = pins_set_alike(form=form, session_key=key, athletes=athletes, station=place, by=request.user)
    except ValidationError as error:
        return _refused(*error.messages)
    people = athletes[0].name if len(athletes) == 1 else f"{len(athletes)} athletes"
    says = f"Station {station} is set by hand for {people}."
    return JsonResponse(
        {"says": says, "undo": reverse("sessions:pins-many-off"), "pins": ",".join(str(pin.pk) for pin in pins)}
    )


@require_POST
def take_off(request: StaffRequest) -> JsonResponse:
    """Undo: what stood there before stands again, by hand or by the method."""
    pins = list(Pin.objects.standing().filter(pk__in=_ids(request.POST.get("pins", ""))))
    count = pins_take_off(pins=pins, by=request.user, undo=True)
    return JsonResponse({"says": f"Taken back for {count}."})


def _refused(*sentences: str) -> JsonResponse:
    return JsonResponse({"says": " ".join(sentences)}, status=422)


def _ids(typed: str) -> list[int]:
    numbers = (whole_number(part) for part in typed.split(",")[:MOST])
    return [number for number in numbers if number is not None]
