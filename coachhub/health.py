import os
import shutil
import tempfile

from django.conf import settings
from django.db import DatabaseError, InterfaceError, connection
from django.http import HttpRequest, JsonResponse

from coachhub.limits import AN_IMPORT
from sessions.weeks.published import publishing_waits

LEAST_FREE = 200_000_000  # bytes; a publish for a thousand athletes writes about 20 MB
LEAST_TEMPORARY = AN_IMPORT  # of the folder in which files lie while they come in


def healthy(request: HttpRequest) -> JsonResponse:
    """For whoever watches the server: 200 when the database answers, the disk takes more, and no publishing waits."""
    answer = {"database": "ok", "worker": "ok", "disk": _disk()}
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
        if publishing_waits():
            answer["worker"] = "publishing waits for more than two minutes"
    except (DatabaseError, InterfaceError):
        answer |= {"database": "cannot be reached, or is not brought up to date", "worker": "unknown"}
    well = all(words == "ok" for words in answer.values())
    return JsonResponse(answer, status=200 if well else 503, headers={"Cache-Control": "no-store"})


def _disk() -> str:
    if not os.access(settings.DATA_DIR, os.W_OK):
        return "the data folder cannot be written to"
    free = shutil.disk_usage(settings.DATA_DIR).free
    temporary = shutil.disk_usage(tempfile.gettempdir()).free
    if free > LEAST_FREE and temporary < LEAST_TEMPORARY:
        return f"the folder for temporary files is almost full: {temporary / 1e6:,.0f} MB are left"
    return "ok" if free > LEAST_FREE else f"almost full: {free / 1e6:,.0f} MB are left"
