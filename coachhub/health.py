from datetime import timedelta

from django.db import connection
from django.http import HttpRequest, JsonResponse
from django.utils import timezone

from sessions.weeks.published import oldest_waiting


def healthy(request: HttpRequest) -> JsonResponse:
    """For whoever watches the server: 200 when the database answers and no publishing waits for a worker."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    waiting = oldest_waiting()
    stuck = waiting is not None and timezone.now() - waiting > timedelta(minutes=2)
    answer = {"database": "ok", "worker": "publishing waits for more than two minutes" if stuck else "ok"}
    return JsonResponse(answer, status=503 if stuck else 200)
