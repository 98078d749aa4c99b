from datetime import date
from uuid import UUID

from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST

from athletes.links.read import athlete_for_token
from sessions.phone.private import gone
from sessions.places.write import coming_choose


@csrf_exempt  # nobody can make a browser send this without knowing the link, or with the key that it keeps: links.keys
@require_POST
def choose(request: HttpRequest, token: str) -> HttpResponse:
    """Keep at which class time an athlete comes to a session of theirs."""
    athlete = athlete_for_token(token)
    if athlete is None:
        return gone(request)
    try:
        key, day = UUID(request.POST.get("session", "")), date.fromisoformat(request.POST.get("date", ""))
    except ValueError:
        return JsonResponse({"error": "This choice cannot be read. Load the page again."}, status=422)
    try:
        coming_choose(athlete=athlete, key=key, day=day, hour=request.POST.get("hour", ""))
    except ValidationError as error:
        return JsonResponse({"error": " ".join(error.messages)}, status=422)
    return HttpResponse(status=204)
