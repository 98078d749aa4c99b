"""The owner's page of archives."""

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render

from coachhub import archive_shelf


def index(request: HttpRequest) -> HttpResponse:
    """Archives that are there, and a button for the next one."""
    if request.method == "POST":
        try:
            archive_shelf.ask()
        except archive_shelf.NotAsked:
            messages.error(request, "The worker cannot be reached. Ask whoever hosts coachhub, then try again.")
        return redirect("gym-archive")
    context = {"archives": archive_shelf.shelved(), "being_made": archive_shelf.being_made()}
    return render(request, "gym/archive.html", context)


def progress(request: HttpRequest) -> HttpResponse:
    """Asked for again and again while an archive is made; then the whole page is loaded."""
    response = render(request, "gym/_archive_progress.html")
    if not archive_shelf.being_made():
        response["HX-Refresh"] = "true"
    return response


def file(request: HttpRequest, name: str) -> HttpResponseBase:
    path = archive_shelf.path_of(name)
    if path is None:
        raise Http404
    return FileResponse(path.open("rb"), as_attachment=True, filename=name, content_type="application/zip")
