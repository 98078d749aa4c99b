from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render

from athletes.exporting.downloads import download
from athletes.exporting.read import TABLES
from athletes.exporting.tables import CONTENT_TYPES


def index(request: HttpRequest) -> HttpResponse:
    """What can be taken out, and as what."""
    return render(request, "exporting/exports.html", {"kinds": CONTENT_TYPES})


def table(request: HttpRequest, file: str) -> HttpResponseBase:
    """One table as a file: efforts.csv."""
    name, _, kind = file.partition(".")
    if name not in TABLES or kind not in CONTENT_TYPES:
        raise Http404
    return download(TABLES[name](), kind)
