from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from sessions.boards import files
from sessions.boards.paper import SIZES
from sessions.models import Publication


def paper(request: HttpRequest, pk: int, size: str) -> HttpResponse:
    """The printed board of a publication."""
    publication = get_object_or_404(Publication.objects.select_related("week"), pk=pk)
    name = getattr(publication, f"paper_{size}") if size in SIZES else ""
    if not name:
        raise Http404("This board is not made yet.")
    response = HttpResponse(files.read(name), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="board-{publication.week}-{size}.pdf"'
    return response
