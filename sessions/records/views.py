from django.http import FileResponse, Http404, HttpRequest, HttpResponseBase
from django.shortcuts import get_object_or_404

from athletes.exporting.downloads import download
from athletes.exporting.tables import CONTENT_TYPES
from athletes.gym.read import today
from athletes.models import Athlete
from sessions.records.read import TABLES, everything_about


def table(request: HttpRequest, file: str) -> HttpResponseBase:
    """One table as a file: targets.xlsx."""
    name, _, kind = file.partition(".")
    if name not in TABLES or kind not in CONTENT_TYPES:
        raise Http404
    return download(TABLES[name](), kind)


def everything(request: HttpRequest, pk: int) -> HttpResponseBase:
    """All that is kept about one athlete, to hand over."""
    athlete = get_object_or_404(Athlete, pk=pk)
    name = f"everything-about-{athlete.pk}-{today()}.zip"
    return FileResponse(everything_about(athlete), as_attachment=True, filename=name, content_type="application/zip")
