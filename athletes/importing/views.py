"""A spreadsheet that a coach brings in: looked over, checked, and then kept or not."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, HttpResponseBase, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from athletes.audit.keeping import nothing_happened
from athletes.exporting.downloads import download
from athletes.exporting.tables import Table
from athletes.fields import whole_number
from athletes.importing.forms import ColumnsForm, NamesForm, ReadingForm, UploadForm
from athletes.importing.read import (
    doubtful_names,
    efforts_of,
    import_unfinished,
    imports_recent,
    nothing_to_keep,
    remark_counts,
    unknown_names,
    unused,
)
from athletes.importing.write import (
    import_begin,
    import_cancel,
    import_check,
    import_discard,
    import_keep,
    import_reread,
    import_take_back,
)
from athletes.models import Import, ImportRemark

State, Kind = Import.State, ImportRemark.Kind
PAGE = 50
MOST_TICKED = 200  # questioned rows to tick one by one
CHECKED_AGAIN = "Nothing is kept yet: the file is checked again with the names you chose. Look it over, then keep it."
TEMPLATES = {
    State.CHECKING: "importing/import_running.html",
    State.KEEPING: "importing/import_running.html",
    State.CHECKED: "importing/import_checked.html",
    State.TAKING_BACK: "importing/import_running.html",
    State.DONE: "importing/import_done.html",
    State.TAKEN_BACK: "importing/import_taken_back.html",
    State.FAILED: "importing/import_failed.html",
}


def index(request: HttpRequest) -> HttpResponse:
    """Bring a file in; and the latest ones."""
    form = UploadForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        filename, content = form.named_content()
        if source := import_unfinished(content, request.user):
            messages.info(request, "This file was brought in before. Go on where it was left.")
            return redirect("athletes:import", source.pk)
        try:
            source = import_begin(key=form.cleaned_data["key"], filename=filename, content=content, by=request.user)
        except ValidationError as error:
            form.add_error("file" if hasattr(error, "error_dict") else None, " ".join(error.messages))
        else:
            return redirect("athletes:import", source.pk)
    return render(request, "importing/imports.html", {"form": form, "imports": imports_recent()})


def detail(request: HttpRequest, pk: int) -> HttpResponse:
    """Where a file stands; with ?columns, and as long as nobody has said so, how it is read."""
    source = get_object_or_404(Import.objects.select_related("made_by"), pk=pk)
    may_change = not source.running and source.state not in (State.DONE, State.TAKEN_BACK) and source.content
    to_match = source.state in (State.MATCHING, State.FAILED)
    if may_change and (request.method == "POST" or "columns" in request.GET or to_match):
        return _columns(request, source)
    context = {"source": source, "counts": source.counts, "standing": efforts_of(source).count()}
    if source.state == State.CHECKED:
        context |= _found(request, source)
    return render(request, TEMPLATES[source.state], context)


def progress(request: HttpRequest, pk: int) -> HttpResponse:
    """The part of the page that is asked for again while a worker is at it; then the whole page is loaded."""
    source = get_object_or_404(Import.objects.defer("content"), pk=pk)
    response = render(request, "importing/_import_progress.html", {"source": source})
    if not source.running:
        response["HX-Refresh"] = "true"
    return response


@require_POST
def reading(request: HttpRequest, pk: int) -> HttpResponse:
    """Another row of headings."""
    source = get_object_or_404(Import, pk=pk)
    form = ReadingForm(request.POST, source=source)
    if not form.is_valid():
        messages.error(request, "Give the number of the row with the headings, from 1 to 2000.")
        return redirect("athletes:import", pk)
    sent = form.cleaned_data
    return _done(request, pk, import_reread, source=source, part=sent["part"], heading_row=sent["heading_row"])


@require_POST
def names(request: HttpRequest, pk: int) -> HttpResponse:
    """Which benchmark a name means that none has, and who is meant; then everything is checked again."""
    source = get_object_or_404(Import.objects.defer("content"), pk=pk)
    return _check_again(request, source, _names_form(source, request.POST))


@require_POST
def keep(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep what was found; where somebody is chosen since it was checked, check it again with that first."""
    source = get_object_or_404(Import.objects.defer("content"), pk=pk)
    form = _names_form(source, request.POST)
    if source.state == State.CHECKED and (not form.is_valid() or form.differs(source)):
        nothing_happened(request)
        messages.warning(request, CHECKED_AGAIN)
        return _check_again(request, source, form)
    return _done(request, pk, import_keep, source=source, **_ticked(request, source))


@require_POST
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    source = get_object_or_404(Import.objects.defer("content"), pk=pk)
    if import_cancel(source=source, by=request.user):
        goes_back = Import.objects.filter(pk=pk, state=Import.State.TAKING_BACK).exists()
        stays = "What was kept of it is being taken back." if goes_back else "Nothing new is kept."
        messages.success(request, f"Stopped. {stays}")
    else:
        messages.info(request, "It was over already. Where this file stands now is below.")
    return redirect("athletes:import", pk)


@require_POST
def take_back(request: HttpRequest, pk: int) -> HttpResponse:
    source = get_object_or_404(Import.objects.defer("content"), pk=pk)
    return _done(request, pk, import_take_back, source=source, by=request.user)


@require_POST
def discard(request: HttpRequest, pk: int) -> HttpResponse:
    for source in Import.objects.filter(pk=pk).defer("content"):
        try:
            import_discard(source=source)
        except ValidationError as error:
            messages.error(request, " ".join(error.messages))
            return redirect("athletes:import", pk)
    messages.success(request, "The file is forgotten. What was kept of it stays.")
    return redirect("athletes:imports")


def remarks(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Everything there is to say of a file, as a file."""
    source = get_object_or_404(Import.objects.defer("content"), pk=pk)
    fields = ("sheet", "row", "column", "subject", "kind", "text", "benchmark", "performed_on", "result")
    rows = source.remarks.values_list(*fields).iterator()
    columns = ("sheet", "row", "column", "athlete or benchmark", "what becomes of it", "why")
    columns += ("benchmark", "day", "result as it is kept")
    labels = dict(Kind.choices)
    return download(Table("remarks", columns, ((*row[:4], labels[row[4]], *row[5:]) for row in rows)), "csv")


def _names_form(source: Import, sent: QueryDict | None = None) -> NamesForm:
    return NamesForm(sent, names=unknown_names(source), people=doubtful_names(source))


def _check_again(request: HttpRequest, source: Import, form: NamesForm) -> HttpResponse:
    """With what is chosen for names; ticks stay."""
    if not form.is_valid():
        messages.error(request, "What you chose for a name is not there any more. Choose again.")
    ticked = _ticked(request, source)
    return _done(request, source.pk, import_check, source=source, ticked=ticked, **form.reading(source))


def _ticked(request: HttpRequest, source: Import) -> dict:
    """Questioned results that are wanted, and whether athletes are added."""
    questioned = source.remarks.filter(kind=Kind.QUESTIONED).values_list("pk", flat=True)
    ticked = [number for sent in request.POST.getlist("want") if (number := whole_number(sent)) is not None]
    wanted = questioned if "want_all" in request.POST else ticked
    return {"create_athletes": "create_athletes" in request.POST, "wanted": wanted}


def _columns(request: HttpRequest, source: Import) -> HttpResponse:
    form = ColumnsForm(request.POST or None, source=source)
    if request.method == "POST" and form.is_valid():
        return _done(request, source.pk, import_check, source=source, parts=form.parts())
    standing = efforts_of(source).count()
    context = {"source": source, "form": form, "standing": standing}
    return render(request, "importing/import_columns.html", context)


def _found(request: HttpRequest, source: Import) -> dict:
    """What the check found, a kind of remark at a time."""
    counts, asked = remark_counts(source), request.GET.get("show")
    kinds = (Kind.KEPT, Kind.FACT, Kind.REFUSED, Kind.NEWCOMER)  # what is questioned stands below, to be ticked
    shown = asked if counts.get(asked) else next((kind for kind in kinds if counts[kind]), Kind.REFUSED)
    page = Paginator(source.remarks.filter(kind=shown), PAGE).get_page(request.GET.get("page"))
    names_form = _names_form(source) if counts[Kind.UNKNOWN] or counts[Kind.NEWCOMER] else None
    questioned = source.remarks.filter(kind=Kind.QUESTIONED)[:MOST_TICKED]
    found = {"remarks": counts, "shown": shown, "page": page, "names_form": names_form, "questioned": questioned}
    return found | {"nothing": nothing_to_keep(source), "unused": unused(source)}


def _done(request: HttpRequest, pk: int, service, **sent) -> HttpResponse:
    try:
        service(**sent)
    except ValidationError as error:
        nothing_happened(request)
        messages.error(request, " ".join(error.messages))
    return redirect("athletes:import", pk)
