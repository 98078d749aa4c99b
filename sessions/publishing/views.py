from datetime import date

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from sessions.models import Publication
from sessions.publishing import write
from sessions.publishing.changes import changes_between
from sessions.publishing.draft import CannotScale
from sessions.publishing.review import review_of
from sessions.publishing.sides import side_of
from sessions.publishing.write import publication_request
from sessions.weeks.published import fresher_athletes, live_publication, previous_revision, running_publication
from sessions.weeks.read import content_hash, content_of
from sessions.weeks.write import week_starting


def review(request: HttpRequest, monday: date) -> HttpResponse:
    """What publishing would do, and one press on, publishing."""
    week = week_starting(monday)
    context: dict = {"week": week, "monday": monday, "live": live_publication(week)}
    try:
        found = review_of(week, request.gym)
    except CannotScale as error:
        return render(request, "publishing/review.html", {**context, "problem": str(error)})
    days = {day.slug: day for day in found.days}
    usual = next((day for day in found.days if day.changes), found.days[0] if found.days else None)
    shown = days.get(request.GET.get("day", ""), usual)
    only = request.GET.get("only", "")
    changes = [change for change in shown.changes if only in ("", change.way)] if shown else []
    changes.sort(key=lambda change: (change.station, change.because))
    context["reviewed"] = content_hash(content_of(week, request.gym))
    context |= {"review": found, "shown": shown, "only": only, "changes": changes, "running": running_publication(week)}
    return render(request, "publishing/review.html", context)


@require_POST
def bring_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Undo: an earlier revision again, as a new one."""
    earlier = get_object_or_404(Publication.objects.select_related("week"), pk=pk)
    try:
        publication = write.bring_back(publication=earlier, by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return redirect("sessions:publication", pk)
    return redirect("sessions:publication", publication.pk)


@require_POST
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    publication = get_object_or_404(Publication, pk=pk)
    if not write.publication_cancel(publication=publication, by=request.user):
        messages.info(request, "It was done already.")
    return redirect("sessions:publication", pk)


@require_POST
def publish(request: HttpRequest, monday: date) -> HttpResponse:
    try:
        reviewed = request.POST.get("reviewed") or None
        publication = publication_request(week=week_starting(monday), by=request.user, reviewed=reviewed)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return redirect("sessions:review" if reviewed else "sessions:week", monday)
    return redirect("sessions:publication", publication.pk)


def detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One revision: its progress while it is made, then its sessions, boards and what changed."""
    publication = get_object_or_404(Publication.objects.select_related("week", "requested_by"), pk=pk)
    context = {
        "publication": publication,
        "sessions": publication.sessions.all(),
        "previous": previous_revision(publication),
        "fresher": fresher_athletes(publication) if publication.state == Publication.State.LIVE else [],
    }
    return render(request, "publishing/publication.html", context)


def progress(request: HttpRequest, pk: int) -> HttpResponse:
    """The part of the page that is asked for again while publishing runs; then the whole page is loaded."""
    publication = get_object_or_404(Publication.objects.select_related("week"), pk=pk)
    response = render(request, "publishing/_progress.html", {"publication": publication})
    if not publication.running:
        response["HX-Refresh"] = "true"
    return response


def changes(request: HttpRequest, pk: int) -> HttpResponse:
    """Who changed against the revision before, and how."""
    publication = get_object_or_404(Publication.objects.select_related("week"), pk=pk)
    previous = previous_revision(publication)
    found = changes_between(side_of(previous), side_of(publication)) if previous else []
    context = {
        "publication": publication,
        "previous": previous,
        "changes": Paginator(found, 200).get_page(request.GET.get("page")),
        "athlete_count": len({change.athlete.pk for change in found}),
    }
    return render(request, "publishing/changes.html", context)
