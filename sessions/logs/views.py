from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from sessions.logs.read import flags
from sessions.logs.write import flag_seen
from sessions.models import Log


@require_safe
def index(request: HttpRequest) -> HttpResponse:
    """The notice of pain and stops, for pages that ask again and again; nothing while they show it already."""
    context = flags()
    if request.GET.get("have") == context["tag"]:
        return HttpResponse(status=204)
    return render(request, "floor/_flags.html", context)


@require_POST
def seen(request: HttpRequest, pk: int) -> HttpResponse:
    """Staff have seen one of them."""
    flag_seen(log=get_object_or_404(Log, pk=pk), by=request.user)
    if "HX-Request" in request.headers:
        return render(request, "floor/_flags.html", flags())
    return redirect("home")
