from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.http import require_POST
from rest_framework.serializers import Serializer

from athletes.models import Athlete
from sessions.floor.attendance import attendance_mark
from sessions.floor.forms import (
    AttendanceSerializer,
    ClassLogSerializer,
    OfferSerializer,
    QuickLogSerializer,
    StartSerializer,
    TapSerializer,
)
from sessions.floor.logs import as_planned, class_log_write, floor_log_write, rounds_made
from sessions.floor.offers import offer_take
from sessions.floor.sheet import sheet_of
from sessions.floor.views import document, found, rows_document
from sessions.floor.write import dose_change
from sessions.models import PublishedSession
from sessions.places.write import start_set


@require_POST
def dose(request: HttpRequest, pk: int) -> HttpResponse:
    """Make one athlete's dose easier, harder, swap it, or undo that."""
    return _answer(request, pk, TapSerializer, _change)


@require_POST
def attendance(request: HttpRequest, pk: int) -> HttpResponse:
    """Mark that an athlete came, or take it back; the answer says where they begin."""
    return _answer(request, pk, AttendanceSerializer, _mark)


@require_POST
def log(request: HttpRequest, pk: int) -> HttpResponse:
    """Log a session as it was planned, with RPE."""
    return _answer(request, pk, QuickLogSerializer, _log)


@require_POST
def offer(request: HttpRequest, pk: int) -> HttpResponse:
    """Do for somebody without a place what was offered."""
    return _answer(request, pk, OfferSerializer, _offer)


@require_POST
def start(request: HttpRequest, pk: int) -> HttpResponse:
    """Let somebody begin at another station."""
    return _answer(request, pk, StartSerializer, _start)


@require_POST
def class_log(request: HttpRequest, pk: int) -> HttpResponse:
    """Log everyone who was here and has not logged as planned, in one tap, or take that back."""
    form = ClassLogSerializer(data=document(request.body))
    if not form.is_valid():
        return JsonResponse({"refused": "This tap cannot be read. Reload the page."}, status=422)
    session, refused, count, content = found(pk), "", 0, form.validated_data
    try:
        count = class_log_write(session=session, by=request.user, **content)
    except ValidationError as error:
        refused = " ".join(error.messages)
    sheet = sheet_of(session, content["hour"])
    return JsonResponse({**rows_document(request, sheet, sheet.rows), "refused": refused, "count": count})


def _offer(session: PublishedSession, form: OfferSerializer, by) -> None:
    content = form.validated_data
    offer_take(
        session=session,
        hour=content["hour"],
        athlete_id=content["athlete"],
        act=content["act"],
        key=content["key"],
        by=by,
    )


def _start(session: PublishedSession, form: StartSerializer, by) -> None:
    content = form.validated_data
    start_set(session=session, athlete_id=content["athlete"], hour=content["hour"], group=content["group"])


def _change(session: PublishedSession, form: TapSerializer, by) -> None:
    dose_change(session=session, tap=form.tap(), by=by)


def _mark(session: PublishedSession, form: AttendanceSerializer, by) -> None:
    content = form.validated_data
    attendance_mark(session=session, athlete_id=content["athlete"], hour=content["hour"], by=by, came=content["came"])


def _log(session: PublishedSession, form: QuickLogSerializer, by) -> None:
    athlete = Athlete.objects.filter(pk=form.validated_data["athlete"]).first()
    if athlete is None:
        raise ValidationError("This athlete is gone. Reload the page.")
    rounds = rounds_made(session, form.validated_data["hour"], athlete)
    content = form.content(as_planned(session=session, athlete=athlete, rounds=rounds))
    floor_log_write(session=session, athlete=athlete, content=content, by=by)


def _answer(request: HttpRequest, pk: int, reads: type[Serializer], act) -> HttpResponse:
    """Do what was tapped, and tell how the athlete's row looks now; `refused` in words when it was not done."""
    form = reads(data=document(request.body))
    if not form.is_valid():
        return JsonResponse({"refused": "This tap cannot be read. Reload the page."}, status=422)
    session, refused = found(pk), ""
    try:
        act(session, form, request.user)
    except ValidationError as error:
        refused = " ".join(error.messages)
    sheet = sheet_of(session, form.validated_data["hour"])
    own = [row for row in sheet.rows if row.athlete == form.validated_data["athlete"]]
    return JsonResponse({**rows_document(request, sheet, own), "refused": refused})
