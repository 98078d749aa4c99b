import json
from dataclasses import asdict

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from athletes.fields import from_json
from sessions.by_hand.ahead import ahead_of
from sessions.class_versions import class_version
from sessions.clock.classes import class_time
from sessions.clock.live import parts_named
from sessions.clock.read import keeps_to_earlier, shape_of_class
from sessions.clock.write import now_ms
from sessions.floor.offers import offers_of
from sessions.floor.read import floor_session
from sessions.floor.sheet import Sheet, SheetRow, sheet_of
from sessions.models import PublishedSession
from sessions.phone.forms import RPE_WORDS
from sessions.weeks.published import class_of, starts_of
from sessions.words.cards import CAUTION


def sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """A class on one page; it works by script, see static/sessions/floor/floor.js."""
    session = found(pk)
    hour = class_time(session, request.GET.get("hour", ""), timezone.localtime())
    if session.pk != pk:
        return redirect(f"{reverse('sessions:floor', args=[session.pk])}?hour={hour}")
    context = {"seen": class_version(session), "sheet": sheet_of(session, hour), "now_ms": now_ms()}
    whole = class_of(session)
    context["clock_parts"] = json.dumps(parts_named(whole))
    context["keeps_to_earlier"] = keeps_to_earlier(whole, hour)
    context["shape"] = json.dumps(asdict(shape_of_class(whole)))
    context["starts_ms"] = int(starts_of(whole, hour).timestamp() * 1000) if hour else ""
    return render(request, "floor/floor.html", {**context, "rpe_words": RPE_WORDS, "caution": CAUTION})


@require_http_methods(["GET", "HEAD", "POST"])
def rows(request: HttpRequest, pk: int) -> HttpResponse:
    """The rows that changed since the page saw them, which it says by their tags; posted, because they are many."""
    session = found(pk)
    sheet = sheet_of(session, class_time(session, request.GET.get("hour", ""), timezone.localtime()))
    sent = document(request.body) if request.method == "POST" else None
    have = set(map(str, sent["have"])) if isinstance(sent, dict) and isinstance(sent.get("have"), list) else set()
    return JsonResponse(rows_document(request, sheet, [row for row in sheet.rows if row.tag not in have]))


def document(body: bytes):
    """What was posted as JSON; None where it cannot be read."""
    try:
        return from_json(body)
    except ValueError:
        return None


def found(pk: int) -> PublishedSession:
    """The session as everyone sees it now; there is none when its week was published again without it."""
    session = floor_session(pk)
    if session is None:
        raise Http404("This session is in no published week any more.")
    return session


def rows_document(request: HttpRequest, sheet: Sheet, rows: list[SheetRow]) -> dict:
    """What the page is told: where everyone stands, and the HTML of `rows`."""
    context = {"sheet": sheet, "rows": rows, "rpe_words": RPE_WORDS}
    return {
        "plan": sheet.session.pk,
        "order": [[row.athlete, row.place] for row in sheet.rows],
        "html": render_to_string("floor/floor_rows.html", context, request),
    }


def places(request: HttpRequest, pk: int) -> HttpResponse:
    """Who has no place for want of machines, and what can be done about it."""
    session = found(pk)
    hour = class_time(session, request.GET.get("hour", ""), timezone.localtime())
    offers, waiting, crowded = offers_of(session, hour)
    context = {"offers": offers, "more": waiting - len(offers), "crowded": crowded}
    return render(request, "floor/_offers.html", context)


def ahead(request: HttpRequest, pk: int, athlete: int, station: int) -> HttpResponse:
    """What the menu of a dose on the floor sheet says of its harder and its swap."""
    return JsonResponse(ahead_of(found(pk), athlete, station))
