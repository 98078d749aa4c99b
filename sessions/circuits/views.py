from contextlib import suppress
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from athletes.accounts.request import StaffRequest
from athletes.fields import whole_number
from athletes.undo import done
from sessions.circuits.document import document_of
from sessions.circuits.drafts import draft_done, draft_keep, draft_of, draft_throw_away, drafts_of
from sessions.circuits.forms import editor, usual_left
from sessions.circuits.library import library
from sessions.circuits.page import Page, both, plan_page, text_now
from sessions.circuits.read import with_stations
from sessions.circuits.sheet import Sheet, sheet_of, sheet_of_text
from sessions.circuits.whiteboard import text_of
from sessions.circuits.write import CircuitChanged, circuit_archive, circuit_change, circuit_create
from sessions.keys import sent_key
from sessions.models import Circuit, CircuitDraft


def index(request: StaffRequest) -> HttpResponse:
    archived = "archived" in request.GET
    find = request.GET.get("find", "")
    context = {"found": library(find, archived=archived), "find": find, "archived": archived}
    context["drafts"] = drafts_of(request.user)
    return render(request, "circuits/circuits.html", context)


def create(request: StaffRequest) -> HttpResponse:
    """A new circuit, from nothing, from a copy, or from a draft of one's own."""
    if request.method == "POST":
        return _save(request, None)
    page = Page(key=uuid4(), text="")
    if original := whole_number(request.GET.get("from", "")):
        circuit = get_object_or_404(with_stations(Circuit.objects.all()), pk=original)
        page = Page(key=uuid4(), text=text_of({**document_of(circuit), "name": f"{circuit.name}, copy"[:200]}))
    elif "draft" in request.GET:
        draft = get_object_or_404(drafts_of(request.user), key=_uuid(request.GET["draft"]), circuit=None)
        page = Page(key=draft.key, text=draft.text, draft=draft)
    return _page(request, None, page)


def change(request: StaffRequest, pk: int) -> HttpResponse:
    circuit = get_object_or_404(with_stations(Circuit.objects.all()), pk=pk)
    if request.method == "POST":
        return _save(request, circuit)
    draft = draft_of(request.user, circuit)
    if draft and "saved" not in request.GET:
        return _page(request, circuit, Page(key=draft.key, text=draft.text, version=draft.version, draft=draft))
    return _page(request, circuit, Page(key=uuid4(), text=text_now(circuit), version=circuit.version))


@require_POST
def reading(request: StaffRequest) -> HttpResponse:
    """How each line of the sheet is read; after a change in the fields, with the text that says the same."""
    sheet = sheet_of(request.POST)
    context = {"sheet": sheet, "live": True, "from_fields": request.POST.get("mode") == "fields"}
    return render(request, "circuits/_reading.html", context)


@require_POST
def fields(request: StaffRequest) -> HttpResponse:
    """The same circuit as fields to fill in."""
    sheet = sheet_of(request.POST)
    context = {**editor(sheet.document, sheet.errors), "usual": usual_left(request.gym.headrooms)}
    return render(request, "circuits/_fields.html", context)


@require_POST
def draft(request: StaffRequest) -> JsonResponse:
    """Keep what is written so far."""
    circuit = with_stations(Circuit.objects.filter(pk=whole_number(request.POST.get("of", "")) or 0)).first()
    version = whole_number(request.POST.get("version", "")) or 0
    key, text = sent_key(request), sheet_of(request.POST).text
    if circuit and text.strip() == text_now(circuit).strip():
        for kept in drafts_of(request.user).filter(key=key):
            draft_throw_away(draft=kept)
        return JsonResponse({"says": "As it is saved", "page": ""})
    try:
        kept = draft_keep(account=request.user, key=key, text=text, circuit=circuit, version=version)
    except ValidationError as error:
        return JsonResponse({"says": " ".join(error.messages)}, status=422)
    page = reverse("sessions:circuit-create") + f"?draft={kept.key}"
    return JsonResponse({"says": "Draft kept", "page": "" if circuit else page})


@require_POST
def draft_away(request: StaffRequest, key: UUID) -> HttpResponse:
    """Throw a draft away, or bring it back."""
    kept = get_object_or_404(CircuitDraft, key=key, account=request.user)
    away = "restore" not in request.POST
    draft_throw_away(draft=kept, away=away)
    words = f"The draft “{kept}” is {'thrown away' if away else 'back'}."
    done(request, words, reverse("sessions:circuit-draft-away", args=[key]), {"restore": 1} if away else {})
    return redirect("sessions:circuit-change", kept.circuit_id) if kept.circuit_id else redirect("sessions:circuits")


@require_POST
def archive(request: StaffRequest, pk: int) -> HttpResponse:
    circuit = get_object_or_404(Circuit, pk=pk)
    circuit_archive(circuit=circuit, archived="restore" not in request.POST)
    where = "archived" if circuit.archived else "back in the list"
    back = {"restore": 1} if circuit.archived else {}
    done(
        request,
        f"{circuit} is {where}. Weeks that use it keep it.",
        reverse("sessions:circuit-archive", args=[pk]),
        back,
    )
    return redirect("sessions:circuits")


def _save(request: StaffRequest, circuit: Circuit | None) -> HttpResponse:
    sheet = sheet_of(request.POST)
    page = Page(sent_key(request), sheet.text, version=whole_number(request.POST.get("version", "")), tried=True)
    if sheet.checked is None:
        return _page(request, circuit, page, sheet, status=422)
    text = "" if request.POST.get("mode") == "fields" else sheet.text
    try:
        if circuit and "as_new" not in request.POST:
            saved = circuit_change(circuit=circuit, document=sheet.checked, version=page.version, text=text)
        else:
            saved = circuit_create(document=sheet.checked, by=request.user, key=page.key, text=text)
    except CircuitChanged as changed:
        began = page.version or 0
        with suppress(ValidationError):  # what cannot be kept is on the page all the same
            draft_keep(
                account=request.user, key=page.key, text=sheet.text, circuit=circuit, version=began, refused=True
            )
        context = both(mine=sheet.text, kept=changed.kept, key=page.key)
        return render(request, "circuits/changed.html", context, status=409)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return _page(request, circuit, page, sheet, status=409)
    draft_done(account=request.user, key=page.key)
    unread = sheet.reading.unread
    left = f" Not understood, and kept in the text only: {', '.join(unread)}." if unread else ""
    messages.success(request, f"{saved} is saved.{left}")
    page_of = reverse("sessions:circuit-change", args=[saved.pk])
    return redirect(f"{page_of}?saved" if draft_of(request.user, saved) else page_of)


def _page(
    request: StaffRequest, circuit: Circuit | None, page: Page, sheet: Sheet | None = None, status: int = 200
) -> HttpResponse:
    sheet = sheet or sheet_of_text(page.text)
    in_fields = page.tried and request.POST.get("mode", "fields") == "fields"
    context: dict[str, Any] = {"circuit": circuit, "page": page, "sheet": sheet, "in_fields": in_fields}
    if in_fields:
        context |= editor(sheet.document, sheet.errors)
    context |= {"usual": usual_left(request.gym.headrooms), **page.day(circuit)}
    if circuit and not circuit.archived:
        context["plan"] = plan_page(circuit)
    return render(request, "circuits/circuit_form.html", context, status=status)


def _uuid(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        return uuid4()  # nobody's
